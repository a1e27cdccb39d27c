import numpy as np
import pytest
from pydantic import ValidationError

from sim.geometry.closed import is_watertight, merged, signed_volume
from sim.geometry.patches import patch_areas, patch_centres
from sim.materials.surface import Surface
from tests.unit.furniture.part_specs import part

POINTS = [["0 cm", "0 cm", "0 cm"], ["40 cm", "0 cm", "0 cm"], ["40 cm", "30 cm", "0 cm"]]


def branch(**keys: object) -> Surface:
    (surface,) = part({"kind": "branch", "points": POINTS, "radius": "2 cm", **keys}).surfaces(0.05)
    return surface


def test_branch_is_closed_with_the_length_times_the_circles_perimeter_as_bark() -> None:
    surface = branch()
    assert surface.patches is not None
    assert is_watertight(merged(surface.mesh))
    assert signed_volume(surface.mesh) > 0.0
    areas = patch_areas(surface.mesh, surface.patches)
    np.testing.assert_allclose(areas[:-2].sum(), 2.0 * np.pi * 0.02 * 0.7, rtol=1e-12)
    assert surface.closed
    assert surface.reachable


def test_receivers_are_strips_of_about_the_size_along_and_around() -> None:
    surface = branch()
    assert surface.patches is not None
    areas = patch_areas(surface.mesh, surface.patches)
    # 40 cm and 30 cm in pieces of 5 cm, a perimeter of 12.6 cm in three, and two ends.
    assert len(areas) == (8 + 6) * 3 + 2
    assert 0.5 * 0.05**2 < areas[:-2].min() < areas[:-2].max() < 2.0 * 0.05**2
    ends = patch_centres(surface.mesh, surface.patches)[-2:]
    np.testing.assert_allclose(ends, [[0.0, 0.0, 0.0], [0.4, 0.3, 0.0]], atol=1e-12)


def test_receivers_shorter_than_the_mitre_of_a_bend_do_not_fold() -> None:
    (surface,) = part({"kind": "branch", "points": POINTS, "radius": "5 cm"}).surfaces(0.01)
    assert is_watertight(merged(surface.mesh))
    assert surface.mesh.areas.min() > 0.0
    side = 2.0 * 0.05 * np.pi / 16
    np.testing.assert_allclose(surface.mesh.areas[: -2 * 16].sum(), 16 * side * 0.7, rtol=1e-12)
    # Where a section were turned inside out its fronts would face the middle line.
    bark = surface.mesh.corners[: -2 * 16].mean(axis=1)
    normals = surface.mesh.normals[: -2 * 16]
    first = bark[:, 1] + bark[:, 0] < 0.4  # on the first leg's side of the mitre
    axis = np.where(first[:, None], bark * [1, 0, 0], [0.4, 0.0, 0.0] + bark * [0, 1, 0])
    assert np.all(np.einsum("mk,mk->m", normals, bark - axis) > 0.0)


def test_radius_at_each_point_tapers_the_branch() -> None:
    surface = branch(radius=["3 cm", "2 cm", "1 cm"], sides=64)
    areas = surface.mesh.areas
    np.testing.assert_allclose(areas[-128:-64].sum(), np.pi * 0.03**2, rtol=3e-3)
    np.testing.assert_allclose(areas[-64:].sum(), np.pi * 0.01**2, rtol=3e-3)


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({"radius": ["3 cm", "2 cm"]}, "'radius' has 2 entries for 3 points"),
        ({"points": POINTS[:1]}, "at least 2 items"),
        ({"points": [*POINTS, POINTS[-1]]}, "coincide"),
        ({"radius": "31 cm"}, "too tight for the radius"),
        ({"radius": "0 cm"}, "greater than 0"),
    ],
)
def test_branches_that_cannot_be_drawn_are_refused(keys: dict[str, object], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        branch(**keys)
