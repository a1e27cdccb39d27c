import numpy as np

from sim.geometry.closed import is_watertight, signed_volume
from sim.geometry.patches import patch_areas
from tests.unit.furniture.part_specs import part

BALL = {"kind": "sphere", "centre": ["40 cm", "30 cm", "6 cm"], "radius": "6 cm"}


def test_ball_is_closed_with_the_balls_surface() -> None:
    (surface,) = part(BALL).surfaces(0.02)
    assert surface.patches is not None
    assert is_watertight(surface.mesh)
    assert signed_volume(surface.mesh) > 0.0
    np.testing.assert_allclose(surface.mesh.areas.sum(), 4.0 * np.pi * 0.06**2, rtol=1e-12)
    areas = patch_areas(surface.mesh, surface.patches)
    assert 0.5 * 0.02**2 < np.median(areas) < 2.0 * 0.02**2
    assert surface.closed


def test_outline_is_off_by_less_than_the_page_says() -> None:
    (surface,) = part(BALL).surfaces(10.0)
    assert len(surface.mesh.faces) == 1280
    corners = surface.mesh.corners - [0.4, 0.3, 0.06]
    farthest = np.linalg.norm(corners, axis=2).max()
    nearest = np.einsum("mk,mk->m", corners[:, 0], surface.mesh.normals).min()  # of a face's plane
    assert 0.99 * 0.06 < nearest < 0.06 < farthest < 1.01 * 0.06
