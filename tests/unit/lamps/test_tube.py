"""The straight tube."""

import numpy as np
import pytest

from sim.geometry.closed import is_watertight, signed_volume
from sim.lamps.lamp import SIDES
from tests.unit.lamps.lamp_specs import TUBE, lamp, refusal
from tests.unit.lamps.silhouette import silhouette_irradiance

PLANAR = ["0 cm", "0 cm", "0 cm"]


def test_lit_area_is_that_of_the_cylinder() -> None:
    assert lamp(TUBE).shape().lit_area == pytest.approx(2.0 * np.pi * 0.013 * 0.6, rel=1e-12)


def test_ends_are_dark_and_sides_lit() -> None:
    shape = lamp(TUBE).shape()
    along = np.abs(shape.body.normals[:, 0])
    assert shape.emits.tolist() == (along < 0.5).tolist()
    assert shape.body.areas[~shape.emits].sum() == pytest.approx(2.0 * np.pi * 0.013**2, rel=1e-3)


def half_cylinder_factor(radius: float, length: float, distance: float) -> float:
    """From an element, facing the axis opposite one end of a cylinder, to the cylinder.

    J. R. Howell, A Catalog of Radiation Configuration Factors (1982), element to finite cylinder.
    """
    ell, h = length / radius, distance / radius
    x, y = (1.0 + h) ** 2 + ell**2, (1.0 - h) ** 2 + ell**2
    first = np.arctan(ell / np.sqrt(h * h - 1.0)) / (np.pi * h)
    second = (x - 2.0 * h) / (h * np.sqrt(x * y)) * np.arctan(np.sqrt(x * (h - 1.0) / (y * (h + 1.0))))
    return float(first + ell / np.pi * (second - np.arctan(np.sqrt((h - 1.0) / (h + 1.0))) / h))


def test_reference_formula_at_a_tabulated_point() -> None:
    # The same formula, checked by adaptive quadrature: r 13 mm, length 0.3 m, distance 0.3 m.
    assert half_cylinder_factor(0.013, 0.3, 0.3) == pytest.approx(0.017966814, rel=1e-7)


@pytest.mark.parametrize("radii", [1.2, 2.0, 4.0, 23.0])
@pytest.mark.parametrize("turn", [0.0, 0.25, 0.5, 0.75, 1.0])
def test_irradiance_is_that_of_the_cylinder(radii: float, turn: float) -> None:
    # Whichever way the prism's edges lie to the receiver: `turn` counts half a side.
    angle = turn * np.pi / SIDES
    shape = lamp(TUBE, facing=[0, np.sin(angle), -np.cos(angle)]).shape()
    point = shape.centre + radii * 0.013 * shape.facing
    found = silhouette_irradiance(shape.body, point, -shape.facing, lines=200)
    assert 2.0 * half_cylinder_factor(0.013, 0.3, radii * 0.013) == pytest.approx(found, rel=4e-4)


@pytest.mark.parametrize("keys", [{"dark_ends": "4 cm"}, {"glass_length": "68 cm"}])
def test_dark_ends_go_on_beyond_the_lit_part(keys: dict[str, object]) -> None:
    bare, whole = lamp(TUBE).shape(), lamp(TUBE, **keys).shape()
    x = whole.body.vertices[:, 0]
    assert (-0.34, 0.34) == (pytest.approx(x.min()), pytest.approx(x.max()))
    assert whole.lit_area == pytest.approx(bare.lit_area, rel=1e-12)
    corners = whole.body.vertices[whole.body.faces[whole.emits]]
    assert np.abs(corners[..., 0]).max() == pytest.approx(0.3)
    dark = whole.body.areas[~whole.emits].sum()
    assert dark == pytest.approx(2.0 * np.pi * 0.013 * 0.08 + 2.0 * np.pi * 0.013**2, rel=1e-3)
    assert is_watertight(whole.body)
    assert signed_volume(whole.body) == pytest.approx(np.pi * 0.013**2 * 0.68, rel=2e-3)
    # What counts from the lit part stays where it was.
    for key in ("start", "end", "centre", "facing"):
        assert getattr(bare, key).tolist() == getattr(whole, key).tolist()


def test_glass_as_long_as_the_lit_part_has_no_dark_ends() -> None:
    assert len(lamp(TUBE).shape().body.faces) == len(lamp(TUBE, glass_length="60 cm").shape().body.faces)


def test_facing_is_turned_square_to_the_tube() -> None:
    assert lamp(TUBE, facing=[1, 0, -1]).shape().facing == pytest.approx([0.0, 0.0, -1.0])


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        (
            {"from": PLANAR, "to": PLANAR},
            "'from' and 'to' are the same point; they are the two ends of the lit part",
        ),
        (
            {"glass_length": "55 cm"},
            "glass_length 55 cm is less than the lit part, 60 cm; 'from' and 'to' are the two ends of the lit part",
        ),
        (
            {"glass_length": "65 cm", "dark_ends": "2 cm"},
            "'dark_ends' and 'glass_length' say the same thing twice; leave one of them out",
        ),
        (
            {"from": PLANAR, "to": ["0 cm", "0 cm", "40 cm"]},
            "the tube runs along its 'facing' (down, unless the lamp says otherwise); "
            "give a facing square to it, such as [1, 0, 0]",
        ),
        ({"radius": None}, "Field required"),
        ({"radius": "0 mm"}, "Input should be greater than 0"),
    ],
)
def test_refusals(changes: dict[str, object], message: str) -> None:
    assert refusal(TUBE, **changes) == message


def test_tube_on_end_with_a_facing_of_its_own() -> None:
    upright = lamp(TUBE, **{"from": PLANAR, "to": ["0 cm", "0 cm", "40 cm"], "facing": [0, 1, 0]})
    assert upright.shape().facing.tolist() == [0.0, 1.0, 0.0]


def test_a_tube_thicker_than_long_is_doubtful_and_traced() -> None:
    assert lamp(TUBE).doubt is None
    short = lamp(TUBE, radius="80 cm")
    assert short.doubt == (
        "radius 800 mm is not less than the tube's length, 600 mm; is it a diameter, or in another unit?"
    )
    assert short.shape().lit_area == pytest.approx(2.0 * np.pi * 0.8 * 0.6, rel=1e-12)
