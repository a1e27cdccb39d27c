import numpy as np
import pytest
from pydantic import ValidationError

from sim.geometry.closed import is_watertight, signed_volume, winding_number
from sim.materials.surface import Surface
from tests.unit.furniture.part_specs import body, part

HIDE = {
    "kind": "hide",
    "corner": ["5 cm", "30 cm", "0 cm"],
    "size": ["30 cm", "22 cm", "12 cm"],
    "thickness": "1 cm",
    "opening": {"side": "front", "width": "10 cm", "height": "6 cm"},
}


def hide(side: str = "front", shift: str = "0 cm") -> list[Surface]:
    return part({**HIDE, "opening": {**HIDE["opening"], "side": side, "shift": shift}}).surfaces(0.05)  # type: ignore[dict-item]


@pytest.mark.parametrize("side", ["front", "back", "left", "right"])
def test_shell_is_closed_with_the_volume_of_its_walls_less_the_entrance(side: str) -> None:
    shell = body(hide(side, "2 cm"))
    assert is_watertight(shell)
    walls = 0.30 * 0.22 * 0.12 - 0.28 * 0.20 * 0.11
    np.testing.assert_allclose(signed_volume(shell), walls - 0.10 * 0.06 * 0.01, rtol=1e-7)


@pytest.mark.parametrize(
    ("side", "within"),
    [
        ("front", [0.22, 0.305, 0.03]),
        ("back", [0.22, 0.515, 0.03]),
        ("left", [0.055, 0.43, 0.03]),
        ("right", [0.345, 0.43, 0.03]),
    ],
)
def test_entrance_lies_on_its_side_shifted_along_it(side: str, within: list[float]) -> None:
    shell = body(hide(side, "2 cm"))
    point = np.array(within)
    along = np.array([1.0, 0.0, 0.0] if side in ("front", "back") else [0.0, 1.0, 0.0])

    def is_wall(shift: float) -> bool:
        return winding_number(shell, point + shift * along) > 0.5

    assert [is_wall(shift) for shift in (-0.051, -0.049, 0.049, 0.051)] == [True, False, False, True]


def test_inside_is_read_from_within_and_only_the_roof_can_be_climbed() -> None:
    surfaces = {surface.name: surface for surface in hide()}
    roof, under = surfaces["thing.top"].frame, surfaces["thing.inside top"].frame
    assert roof is not None
    assert under is not None
    np.testing.assert_allclose(roof.normal, [0.0, 0.0, 1.0])
    np.testing.assert_allclose(under.normal, [0.0, 0.0, -1.0])
    np.testing.assert_allclose(under.origin, [0.06, 0.31, 0.11])
    assert [name for name, surface in surfaces.items() if surface.reachable] == ["thing.top"]
    assert [name for name, surface in surfaces.items() if not surface.measured] == ["thing.rim"]
    assert all(surface.closed for surface in surfaces.values())


def test_foot_faces_down_and_has_the_area_of_the_walls_section() -> None:
    (rim,) = (surface.mesh for surface in hide() if surface.name == "thing.rim")
    np.testing.assert_allclose(rim.normals, np.tile([0.0, 0.0, -1.0], (len(rim.faces), 1)), atol=1e-12)
    np.testing.assert_allclose(rim.areas.sum(), 0.30 * 0.22 - 0.28 * 0.20 - 0.10 * 0.01, rtol=1e-9)


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({"thickness": "11 cm"}, "leave no room inside"),
        ({"thickness": "12 cm", "size": ["60 cm", "60 cm", "12 cm"]}, "leave no room inside"),
        ({"opening": {"side": "left", "width": "20 cm", "height": "6 cm"}}, "between the side walls, which are 20 cm"),
        (
            {"opening": {"side": "front", "width": "20 cm", "height": "6 cm", "shift": "-4 cm"}},
            "between the side walls",
        ),
        ({"opening": {"side": "front", "width": "10 cm", "height": "11 cm"}}, "below the roof, 11 cm above the ground"),
        ({"opening": {"side": "top", "width": "10 cm", "height": "6 cm"}}, "'front', 'back', 'left' or 'right'"),
    ],
)
def test_hides_that_cannot_be_built_are_refused(keys: dict[str, object], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        part({**HIDE, **keys})
