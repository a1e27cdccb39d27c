"""What all lamps share."""

import numpy as np
import pytest

from sim.geometry.closed import is_watertight, signed_volume
from sim.lamps.emission import Emission
from sim.lamps.lamp import BODY, across
from tests.unit.lamps.lamp_specs import HELIX, LIMBS, PANEL, SPOT, TUBE, lamp, refusal

ALL = [TUBE, LIMBS, HELIX, PANEL, SPOT, SPOT | {"depth": "11 cm"}]


@pytest.mark.parametrize("keys", ALL)
def test_defaults(keys: dict[str, object]) -> None:
    found = lamp(keys)
    assert (1.0, BODY) == (found.level, found.body)
    assert BODY.reflectance == 0.3


@pytest.mark.parametrize("keys", ALL)
def test_shape_is_consistent(keys: dict[str, object]) -> None:
    shape = lamp(keys).shape()
    assert shape.emits.shape == (len(shape.body.faces),)
    assert float(np.linalg.norm(shape.facing)) == pytest.approx(1.0)
    assert shape.centre == pytest.approx(0.5 * (shape.start + shape.end))
    assert shape.body.areas.min() > 0.0


@pytest.mark.parametrize("keys", [TUBE, LIMBS, HELIX, SPOT | {"depth": "11 cm"}])
def test_body_is_closed_with_fronts_outward(keys: dict[str, object]) -> None:
    shape = lamp(keys).shape()
    assert is_watertight(shape.body)
    assert signed_volume(shape.body) > 0.0
    assert not shape.open_body


@pytest.mark.parametrize("keys", ALL)
def test_radius_is_the_reach_from_the_axis(keys: dict[str, object]) -> None:
    shape = lamp(keys).shape()
    axis = (shape.end - shape.start) / np.linalg.norm(shape.end - shape.start)
    offset = shape.body.vertices - shape.centre
    reach = np.linalg.norm(offset - np.outer(offset @ axis, axis), axis=1).max()
    assert shape.radius == pytest.approx(reach, rel=3e-3)  # the prism's corners stand out a little


@pytest.mark.parametrize("keys", ALL)
def test_reach_is_that_of_the_body_along_its_facing(keys: dict[str, object]) -> None:
    found = lamp(keys)
    shape = found.shape()
    reach = ((shape.body.vertices - shape.centre) @ shape.facing).max()
    assert found.reach == pytest.approx(reach, rel=3e-3, abs=1e-12)


def test_spectrum_by_name_or_inline() -> None:
    assert lamp(TUBE).spectrum == "uvb-phosphor-306"
    assert isinstance(lamp(TUBE, spectrum={"lines": [{"at": "313 nm"}]}).spectrum, Emission)


def test_faulty_inline_spectrum_gives_one_line() -> None:
    assert refusal(TUBE, spectrum={"lines": [{"at": "313"}]}) == (
        "wavelength needs a unit: write '313 nm' (allowed: nm, um)"
    )


@pytest.mark.parametrize(
    ("keys", "distance", "reach"),
    [(TUBE, "13 mm", "1.3"), (LIMBS, "4 cm", "5"), (HELIX, "3.4 cm", "3.5")],
)
def test_reading_within_the_lamp_is_refused(keys: dict[str, object], distance: str, reach: str) -> None:
    message = refusal(keys, output={"uvi": 3, "at": distance, "setting": "bare"})
    assert message.startswith("output: the reading at ")
    assert f"lies within the lamp, which reaches {reach} cm from its centre" in message


def test_unknown_key_is_refused() -> None:
    assert refusal(TUBE, diameter="26 mm") == "Extra inputs are not permitted"


@pytest.mark.parametrize(
    ("direction", "expected"),
    [((0, 0, -1), (0, 0, -1)), ((3, 0, 4), (0, 0, 1)), ((1, 0, 0.01), None), ((-1, 0, 0.02), (0, 0, 1))],
)
def test_across_leaves_what_is_square_to_the_axis(
    direction: tuple[float, ...], expected: tuple[float, ...] | None
) -> None:
    unit = np.array(direction, dtype=np.float64) / np.linalg.norm(direction)
    found = across(unit, np.array([1.0, 0.0, 0.0]))
    assert expected == (None if found is None else tuple(found.round(12)))
