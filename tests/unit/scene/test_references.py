import tomllib

import pytest
from pydantic import ValidationError

from sim.scene.fault import Fault
from sim.scene.load import Document
from sim.scene.model import NAMES_FAULT, Scene
from sim.scene.references import Reference, law_references, packaged_spectra, spectrum_references
from tests.support.scene_text import VIVARIUM, altered


def scene_of(text: str = VIVARIUM) -> Scene:
    return Scene.model_validate(tomllib.loads(text))


def faults(text: str) -> list[Fault]:
    with pytest.raises(ValidationError) as caught:
        scene_of(text)
    (error,) = caught.value.errors()
    assert error["type"] == NAMES_FAULT
    found: list[Fault] = error["ctx"]["faults"]
    assert all(fault.message in error["msg"] for fault in found)
    return found


def test_every_place_where_a_law_is_named() -> None:
    assert set(law_references(scene_of())) == {
        Reference(("enclosure", "walls", "all"), "melamine-white"),
        Reference(("enclosure", "walls", "floor"), "sand-dry"),
        Reference(("reflectors", 0, "law"), "polished-aluminium"),
        Reference(("parts", 0, "law"), "slate"),
    }


def test_laws_named_in_openings_lamps_and_backs_of_sheets_count() -> None:
    text = altered('radius = "8 mm"', 'radius = "8 mm"\nbody = "black"').replace(
        "[laws.slate]",
        '[[enclosure.openings]]\nwall = "left"\ncorner = ["1 cm", "1 cm"]\nsize = ["2 cm", "2 cm"]\n'
        'cover = "glass-clear-4mm"\n\n[laws.slate]',
    )
    assert {("lamps", 0, "body"), ("enclosure", "openings", 0, "cover")} <= {
        path for path, _ in law_references(scene_of(text))
    }


def test_spectra_within_spectra_are_found() -> None:
    text = altered(
        '"uvb-phosphor-306"',
        '{ mix = [{ spectrum = "uva-phosphor-351" }, { spectrum = { mix = [{ spectrum = "mercury-lines" }] } }] }',
    )
    scene = scene_of(text)
    assert [name for _, name in spectrum_references(scene)] == ["uva-phosphor-351", "mercury-lines"]
    assert list(packaged_spectra(scene)) == ["mercury-lines", "uva-phosphor-351"]


@pytest.mark.parametrize(
    ("old", "new", "path", "message"),
    [
        ('"slate"', '"slat"', ("parts", 0, "law"), "no law is called 'slat'; did you mean 'slate'?"),
        ('all = "melamine-white"', 'all = "x"', ("enclosure", "walls", "all"), "laws: anodised-aluminium, black,"),
        ('"uvb-phosphor-306"', '"uvb-phosphor"', ("lamps", 0, "spectrum"), "did you mean 'uvb-phosphor-3"),
        ('towards = "tube"', 'towards = "tub"', ("sensors", 0, "towards"), "did you mean 'tube'?"),
        ('"floor", "ledge.top"', '"ledge.tp"', ("animal", "reach", 0), "did you mean 'ledge.top'?"),
        ('surface = "ledge.top"', 'surface = "ledge"', ("zones", 0, "surface"), "'ledge' has the surfaces ledge."),
        ('name = "meter"', 'name = "left"', ("sensors", 0, "name"), "a wall is called 'left' already"),
        ('name = "meter"', 'name = "basking"', ("zones", 0, "name"), "sensors[0] is called 'basking' already"),
        ('name = "meter"', 'name = "ledge.top"', ("sensors", 0, "name"), "'ledge.top' is a surface of 'ledge' already"),
    ],
)
def test_one_wrong_name_is_one_fault(old: str, new: str, path: tuple[str | int, ...], message: str) -> None:
    found = faults(altered(old, new))
    assert [fault.path for fault in found] == [path]
    assert message in found[0].message


def test_all_wrong_names_are_told_at_once() -> None:
    text = altered('"slate"', '"slat"').replace('towards = "tube"', 'towards = "tub"').replace("sand-dry", "snd-dry")
    assert {fault.path for fault in faults(text)} == {
        ("parts", 0, "law"),
        ("sensors", 0, "towards"),
        ("enclosure", "walls", "floor"),
    }


def lines(text: str) -> list[str]:
    from pathlib import Path

    from sim.scene.fault import SceneError
    from sim.scene.position import find_positions

    with pytest.raises(SceneError) as caught:
        Document(Path("s.toml"), tomllib.loads(text), find_positions(text)).scene()
    return caught.value.lines


def test_names_of_a_thing_with_a_fault_are_not_missed() -> None:
    """Its name is known, though the thing itself cannot be read."""
    assert len(lines(altered('radius = "8 mm"', "radius = 8"))) == 1
    assert len(lines(altered('corner = ["80 cm", "20 cm", "20 cm"]', "corner = 5"))) == 1
    assert len(lines(altered('size = ["120 cm", "60 cm", "60 cm"]', "size = 5"))) == 1
    assert len(lines(altered("roughness = 0.3", "roughness = 3"))) == 1


def test_names_beside_a_thing_with_a_fault_are_looked_at() -> None:
    text = altered("reflectance = 0.2", "reflectance = 2").replace('"uvb-phosphor-306"', '"x"')
    assert [line.split(": ")[1] for line in lines(text)] == ["laws.slate.reflectance", "lamps[0].spectrum"]


def test_indices_count_the_things_with_a_fault() -> None:
    lamp = VIVARIUM[VIVARIUM.index("[[lamps]]") : VIVARIUM.index("[[reflectors]]")]
    second = lamp.replace('"tube"\nkind', '"second"\nkind').replace("uvb-phosphor-306", "x")
    text = altered('radius = "8 mm"', "radius = 8").replace("[[reflectors]]", second + "[[reflectors]]")
    assert [line.split(": ")[1] for line in lines(text)] == ["lamps[0].radius", "lamps[1].spectrum"]
