import numpy as np
import pytest

from sim.geometry.closed import is_watertight, signed_volume, winding_number
from sim.geometry.mesh import Mesh
from sim.geometry.solids import disc, sphere, sphere_level

CENTRE = np.array([0.3, -0.1, 0.2])


@pytest.mark.parametrize("level", [0, 1, 2, 3])
def test_sphere_is_closed_with_the_spheres_area(level: int) -> None:
    mesh = sphere(CENTRE, 0.07, level)
    assert len(mesh.faces) == 20 * 4**level
    assert is_watertight(mesh)
    np.testing.assert_allclose(mesh.areas.sum(), 4.0 * np.pi * 0.07**2, rtol=1e-12)
    assert 0.0 < signed_volume(mesh) < 4.0 / 3.0 * np.pi * 0.07**3  # of all bodies of one area the ball is largest


def test_sphere_approaches_the_spheres_volume() -> None:
    np.testing.assert_allclose(signed_volume(sphere(CENTRE, 0.07, 4)), 4.0 / 3.0 * np.pi * 0.07**3, rtol=3e-3)


def test_mean_shadow_of_the_sphere_is_the_spheres() -> None:
    directions = np.random.Generator(np.random.Philox(1)).normal(size=(4000, 3))
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    mesh = sphere(CENTRE, 1.0, 1)
    shadows = 0.5 * np.abs(mesh.area_vectors @ directions.T).sum(axis=0)
    # Four standard errors of the mean over directions.
    assert abs(shadows.mean() - np.pi) < 4.0 * shadows.std(ddof=1) / np.sqrt(len(directions))


def test_sphere_level_gives_edges_of_about_the_size() -> None:
    for size in (0.005, 0.01, 0.05):
        level = sphere_level(0.1, size)
        corners = sphere(CENTRE, 0.1, level).corners
        longest = np.linalg.norm(corners[:, 0] - corners[:, 1], axis=1).max()
        assert longest <= 1.25 * size
    assert sphere_level(0.01, 1.0) == 1


def test_disc_has_the_discs_area_and_faces_its_normal() -> None:
    normal = np.array([0.6, 0.0, 0.8])
    mesh = disc(CENTRE, normal, 0.05, 12)
    np.testing.assert_allclose(mesh.areas.sum(), np.pi * 0.05**2, rtol=1e-12)
    np.testing.assert_allclose(mesh.normals, np.broadcast_to(normal, (12, 3)), atol=1e-12)


def test_winding_number_tells_inside_from_outside() -> None:
    mesh = sphere(CENTRE, 0.07, 2)
    shift = np.array([0.03, 0.0, 0.0])
    inside, outside = CENTRE + shift, CENTRE + 3.0 * shift
    np.testing.assert_allclose(winding_number(mesh, inside), 1.0, atol=1e-12)
    np.testing.assert_allclose(winding_number(mesh, outside), 0.0, atol=1e-12)
    np.testing.assert_allclose(winding_number(mesh.flipped(), inside), -1.0, atol=1e-12)


def test_winding_number_of_half_a_centrally_symmetric_body_at_its_centre_is_a_half() -> None:
    mesh = sphere(np.zeros(3), 1.0, 3)
    upper = mesh.corners.mean(axis=1) @ np.array([0.1, 0.2, 1.0]) > 0.0
    half = Mesh(mesh.vertices, mesh.faces[upper])
    assert len(half.faces) == len(mesh.faces) // 2
    np.testing.assert_allclose(winding_number(half, np.zeros(3)), 0.5, atol=1e-12)
