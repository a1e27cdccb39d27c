from typing import Any

import pytest
from pydantic import ValidationError

from sim.scene.exposure_zone import EXPOSURE_ZONES
from sim.scene.zone import REFUGE_TARGET, Target, Zone
from tests.support.manual import examples

SURFACE = {"name": "a", "role": "basking", "surface": "floor"}
BOX = {"name": "a", "role": "passage", "box": [["1 cm", "2 cm", "3 cm"], ["5 cm", "6 cm", "7 cm"]]}


def message_of(model: type[Target] | type[Zone], data: dict[str, Any]) -> str:
    with pytest.raises(ValidationError) as caught:
        model.model_validate(data)
    (error,) = caught.value.errors()
    return error["msg"]


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_an_exposure_zone_sets_band_and_ceiling(number: int) -> None:
    target = Target.model_validate({"exposure_zone": number})
    assert target.band == (EXPOSURE_ZONES[number].low, EXPOSURE_ZONES[number].high)
    assert target.highest == EXPOSURE_ZONES[number].highest


def test_a_lower_ceiling_beside_an_exposure_zone_holds() -> None:
    target = Target.model_validate({"exposure_zone": 3, "max": 4.0})
    assert (target.band, target.highest) == ((1.0, 2.6), 4.0)


def test_a_target_by_numbers() -> None:
    target = Target.model_validate({"mean": [0.5, 0.9], "share": "80 %"})
    assert (target.band, target.highest, target.share) == ((0.5, 0.9), None, 0.8)


def test_a_ceiling_alone_is_a_target() -> None:
    target = Target.model_validate({"max": 3})
    assert (target.band, target.highest) == (None, 3.0)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ({}, "needs one of exposure_zone"),
        ({"share": 0.5}, "needs one of exposure_zone"),
        ({"max": 3.0, "share": 0.5}, "'share' counts the area within the band"),
        ({"exposure_zone": 2, "mean": [0, 1]}, "leave out one of"),
        ({"exposure_zone": 5}, "Input should be 1, 2, 3 or 4"),
        ({"exposure_zone": 2, "max": 3.1}, "max = 3.1 is above 3, the highest reading of exposure zone 2"),
        ({"mean": [1.0, 2.0], "max": 0.5}, "nothing can meet both"),
        ({"mean": [2.0, 1.0]}, "the band must rise"),
        ({"mean": [1.0, 1.0]}, "the band must rise"),
        ({"mean": [-1.0, 1.0]}, "greater than or equal to 0"),
    ],
)
def test_targets_that_say_nothing_or_too_much(data: dict[str, Any], message: str) -> None:
    assert message in message_of(Target, data)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ({"name": "a", "role": "basking"}, "either surface"),
        (SURFACE | {"box": BOX["box"]}, "either surface"),
        (BOX | {"height": "3 cm"}, "'height' belongs to a zone on a surface"),
        (BOX | {"region": [["1 cm", "1 cm"], ["2 cm", "2 cm"]]}, "'region' belongs to a zone on a surface"),
        (BOX | {"facing": "surface"}, "needs a surface"),
        (BOX | {"box": [["1 cm", "2 cm", "3 cm"], ["1 cm", "6 cm", "7 cm"]]}, "no area"),
        (SURFACE | {"region": [["1 cm", "1 cm"], ["2 cm", "1 cm"]]}, "no area"),
        (SURFACE | {"role": "out of reach", "target": {"max": 1.0}}, "nothing is wanted out of reach"),
        (SURFACE | {"height": "-1 cm"}, "greater than or equal to 0"),
    ],
)
def test_zones_that_have_no_place_or_two(data: dict[str, Any], message: str) -> None:
    assert message in message_of(Zone, data)


def test_corners_may_come_in_any_order() -> None:
    zone = Zone.model_validate(SURFACE | {"region": [["9 cm", "1 cm"], ["2 cm", "8 cm"]]})
    assert zone.region == ((0.02, 0.01), (0.09, 0.08))
    zone = Zone.model_validate(BOX | {"box": [["9 cm", "1 cm", "5 cm"], ["2 cm", "8 cm", "5 cm"]]})
    assert zone.box == ((0.02, 0.01, 0.05), (0.09, 0.08, 0.05))


def test_a_refuge_without_target_is_held_to_the_shade() -> None:
    refuge = Zone.model_validate(SURFACE | {"role": "refuge"})
    assert refuge.wanted == REFUGE_TARGET
    assert (REFUGE_TARGET.band, REFUGE_TARGET.highest) == ((0.0, 0.7), 0.7)
    own = Zone.model_validate(SURFACE | {"role": "refuge", "target": {"max": 0.2}})
    assert own.wanted is own.target


@pytest.mark.parametrize("role", ["basking", "passage", "out of reach"])
def test_other_roles_without_target_are_not_judged(role: str) -> None:
    assert Zone.model_validate(SURFACE | {"role": role}).wanted is None


def test_examples_of_the_manual_pages_are_valid() -> None:
    for example in examples(Target):
        Target.model_validate(example["target"])
    for example in examples(Zone):
        Zone.model_validate(example["zones"][0])
