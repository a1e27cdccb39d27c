from typing import Annotated, Any, Literal

import pytest
from pydantic import Field, ValidationError

from sim.materials.curve import Reflectance
from sim.materials.law import LawRef
from sim.scene.explain import explain
from sim.scene.fault import Fault
from sim.scene.vocabulary import Vocabulary
from sim.spec import Name, Spec
from sim.units import Length, Position, Wavelength


class Round(Spec):
    kind: Literal["round"]
    radius: Length
    count: Annotated[int, Field(ge=1, strict=True)] = 1


class Low(Spec):
    kind: Literal["square"]
    form: Literal["low"]
    edge: Length


class High(Spec):
    kind: Literal["square"]
    form: Literal["high"]
    edge: Length
    height: Length


Square = Annotated[Low | High, Field(discriminator="form")]


class Whole(Spec):
    shapes: tuple[Annotated[Round | Square, Field(discriminator="kind")], ...] = ()
    law: LawRef = "black"
    curve: Reflectance = 0.5
    at: Position = (0.0, 0.0, 0.0)
    wire: Length | tuple[Length, Length] = 1.0
    step: Literal["auto"] | Wavelength = "auto"
    named: dict[Name, Length] = Field(default={})
    flag: bool = False


VOCABULARY = Vocabulary(Whole.model_json_schema())


def faults(document: dict[str, Any]) -> list[Fault]:
    with pytest.raises(ValidationError) as caught:
        Whole.model_validate(document)
    return explain(caught.value.errors(), document, VOCABULARY)


ROUND = {"kind": "round", "radius": "1 cm"}


@pytest.mark.parametrize(
    ("document", "path", "message"),
    [
        ({"lwa": "x"}, ("lwa",), "unknown key; did you mean 'law'?"),
        (
            {"zzz": 1},
            ("zzz",),
            "unknown key; keys here: at, curve, flag, law, named, shapes, step, wire",
        ),
        ({"shapes": [ROUND | {"kind": "rund"}]}, ("shapes", 0, "kind"), "did you mean 'round'?"),
        ({"shapes": [ROUND | {"kind": "oval"}]}, ("shapes", 0, "kind"), 'is "oval"; allowed: round, square'),
        ({"shapes": [{"kind": "square"}]}, ("shapes", 0, "form"), 'is missing; write form = "low" or "high"'),
        ({"shapes": [{"kind": "square", "form": "mid"}]}, ("shapes", 0, "form"), 'is "mid"; allowed: low, high'),
        ({"shapes": [{"knd": "round"}]}, ("shapes", 0, "knd"), "unknown key; did you mean 'kind'?"),
        ({"shapes": [{"radius": "1 cm"}]}, ("shapes", 0, "kind"), 'is missing; write kind = "round" or "square"'),
        ({"shapes": [{"kind": "round"}]}, ("shapes", 0, "radius"), 'is missing; write radius = "30 cm"'),
        ({"shapes": [{"kind": "round", "radis": "1 cm"}]}, ("shapes", 0, "radis"), "did you mean 'radius'?"),
        ({"shapes": [ROUND | {"count": 0}]}, ("shapes", 0, "count"), "is 0; it must be at least 1"),
        ({"shapes": [ROUND | {"count": 1.5}]}, ("shapes", 0, "count"), "is 1.5; write a whole number"),
        ({"shapes": [ROUND | {"radius": "-1 cm"}]}, ("shapes", 0, "radius"), 'is "-1 cm"; it must be above 0'),
        (
            {"shapes": {"kind": "round"}},
            ("shapes",),
            "is one table; write a list of tables: [[shapes]], or [{ … }]",
        ),
        ({"at": {"x": "1 cm"}}, ("at",), "is a table; write a list [ … ]"),
        ({"shapes": [3]}, ("shapes", 0), "is 3; write a table { … }"),
        ({"law": 5}, ("law",), "is 5; write text in quotes or a table { … }"),
        ({"law": {"kind": "blak"}}, ("law", "kind"), "is \"blak\"; did you mean 'black'?"),
        ({"law": {"kind": "mirror"}}, ("law", "reflectance"), "is missing; write reflectance = 0.5"),
        ({"law": {"kind": "mirror", "reflectance": 1.2}}, ("law", "reflectance"), "1.2 is outside 0 to 1"),
        (
            {"law": {"kind": "mirror", "reflectance": {"wavelength": [300], "value": [1]}}},
            ("law", "reflectance", "wavelength", 0),
            "wavelength needs a unit: write '300 nm'",
        ),
        (
            {"curve": {"wavelength": ["300 nm"], "value": [0.5]}},
            ("curve",),
            "a table needs at least two wavelengths",
        ),
        ({"curve": "much"}, ("curve",), 'is "much"; write a number or a table { … }'),
        ({"curve": -0.1}, ("curve",), "-0.1 is outside 0 to 1"),
        ({"at": ["1 cm", "2 cm"]}, ("at",), 'has 2 of 3 entries; write a list such as ["30 cm", "30 cm", "30 cm"]'),
        ({"at": ["1 cm"] * 4}, ("at",), "has 4 entries; it needs at most 3"),
        ({"at": ["1 cm", 2, "3 cm"]}, ("at", 1), "length needs a unit: write '2 cm'"),
        ({"at": "1 cm"}, ("at",), 'is "1 cm"; write a list [ … ]'),
        ({"wire": 0.3}, ("wire",), "length needs a unit"),
        ({"wire": ["1 mm", 2]}, ("wire", 1), "length needs a unit"),
        ({"wire": ["1 mm", "2 parsec"]}, ("wire", 1), "unknown length unit 'parsec'"),
        ({"step": "atuo"}, ("step",), "'atuo' is not a wavelength; write one such as '310 nm', or 'auto'"),
        ({"step": "5 cm"}, ("step",), "unknown wavelength unit 'cm'"),
        ({"named": {"a!": "1 cm"}}, ("named", "a!"), '"a!" cannot be a name'),
        ({"named": {"a": "1"}}, ("named", "a"), "length needs a unit"),
        ({"flag": "perhaps"}, ("flag",), 'is "perhaps"; write true or false'),
    ],
)
def test_one_mistake_is_one_fault_at_its_place(
    document: dict[str, Any], path: tuple[str | int, ...], message: str
) -> None:
    found = faults(document)
    assert [fault.path for fault in found] == [path]
    assert message in found[0].message


def test_faults_in_different_places_are_all_told() -> None:
    document = {"shapes": [ROUND, {"kind": "round", "radius": 5, "cuont": 1}], "law": 1, "zzz": 2, "at": []}
    assert {fault.path for fault in faults(document)} == {
        ("shapes", 1, "radius"),
        ("shapes", 1, "cuont"),
        ("law",),
        ("zzz",),
        ("at",),
    }


def test_two_unlike_misses_are_two_faults() -> None:
    """A key that is missing is told beside an unknown one that is not a misspelling of it."""
    found = faults({"shapes": [{"kind": "round", "wdith": "1 cm"}]})
    assert {fault.path for fault in found} == {("shapes", 0, "wdith"), ("shapes", 0, "radius")}


def test_a_law_called_like_its_kind_is_found() -> None:
    class Laws(Spec):
        laws: dict[Name, LawRef]

    document = {"laws": {"mirror": {"kind": "mirror", "reflectance": 2}}}
    with pytest.raises(ValidationError) as caught:
        Laws.model_validate(document)
    found = explain(caught.value.errors(), document, Vocabulary(Laws.model_json_schema()))
    assert [fault.path for fault in found] == [("laws", "mirror", "reflectance")]
