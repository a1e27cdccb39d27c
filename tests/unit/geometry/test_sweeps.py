import numpy as np
import pytest

from sim.geometry.closed import is_watertight, merged, signed_volume
from sim.geometry.mesh import FloatArray, Mesh
from sim.geometry.sweeps import cylinder, extruded, revolved, ring_radius, swept_tube, tube_rings

X, Y, Z = np.eye(3)


def shadow(mesh: Mesh, direction: FloatArray) -> float:
    """Area of a convex body's shadow along a direction: half the projected area of all its faces."""
    return float(0.5 * np.abs(mesh.area_vectors @ direction).sum())


@pytest.mark.parametrize("sides", [3, 8, 32])
def test_cylinder_is_closed_and_its_sides_have_the_cylinders_area(sides: int) -> None:
    mesh = cylinder(np.array([0.1, 0.2, 0.3]), np.array([0.5, 0.0, 0.4]), 0.013, sides)
    length = np.linalg.norm([0.4, -0.2, 0.1])
    assert is_watertight(merged(mesh))
    assert signed_volume(mesh) > 0.0
    np.testing.assert_allclose(mesh.areas[: 2 * sides].sum(), 2.0 * np.pi * 0.013 * length, rtol=1e-12)
    assert len(mesh.faces) == 4 * sides


def test_mean_shadow_of_the_prism_around_its_axis_is_the_cylinders() -> None:
    sides = 7
    mesh = cylinder(np.zeros(3), Z, 0.5, sides, caps=False)
    angles = 2.0 * np.pi * (np.arange(20_000) + 0.5) / 20_000
    shadows = [shadow(mesh, np.array([np.cos(a), np.sin(a), 0.0])) for a in angles]
    np.testing.assert_allclose(np.mean(shadows), 2.0 * 0.5 * 1.0, rtol=1e-6)


def test_cylinder_without_caps_is_open() -> None:
    mesh = cylinder(np.zeros(3), Z, 0.5, 8, caps=False)
    assert len(mesh.faces) == 16
    assert not is_watertight(mesh)


def bent() -> FloatArray:
    return np.array([[0.0, 0.0, 0.0], [0.4, 0.0, 0.1], [0.6, 0.3, 0.1], [0.6, 0.4, 0.5]])


def test_bent_tube_is_closed_and_each_prism_keeps_its_section_through_the_bends() -> None:
    points, sides, radius = bent(), 12, 0.02
    mesh = swept_tube(points, np.full(4, radius), sides)
    assert is_watertight(merged(mesh))
    rings = tube_rings(points, np.full(4, radius), sides)
    for i in range(3):
        direction = (points[i + 1] - points[i]) / np.linalg.norm(points[i + 1] - points[i])
        for ring in rings[i : i + 2]:
            away = ring - points[i] - ((ring - points[i]) @ direction)[:, None] * direction
            np.testing.assert_allclose(np.linalg.norm(away, axis=1), ring_radius(radius, sides), rtol=1e-12)
    # A mitred prism has the volume of its section times the length of its axis.
    section = 0.5 * sides * ring_radius(radius, sides) ** 2 * np.sin(2.0 * np.pi / sides)
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    np.testing.assert_allclose(signed_volume(mesh), section * length, rtol=1e-12)


def test_tube_edges_run_along_its_segments_without_twist() -> None:
    points = bent()
    rings = tube_rings(points, np.full(4, 0.02), 12)
    for i in range(3):
        along = rings[i + 1] - rings[i]
        direction = (points[i + 1] - points[i]) / np.linalg.norm(points[i + 1] - points[i])
        np.testing.assert_allclose(np.cross(along, direction), 0.0, atol=1e-15)


def test_tapered_tube_has_the_frustums_area() -> None:
    sides, r0, r1, length = 400, 0.03, 0.01, 0.5
    mesh = swept_tube(np.array([[0, 0, 0], [0, 0, length]], dtype=float), np.array([r0, r1]), sides, caps=False)
    slant = np.hypot(length, r0 - r1)
    np.testing.assert_allclose(mesh.areas.sum(), np.pi * (r0 + r1) * slant, rtol=1e-5)


def test_helix_has_the_area_of_its_length_times_perimeter() -> None:
    turns, per_turn, coil, pitch, radius = 3, 48, 0.02, 0.02, 0.004
    t = np.linspace(0.0, 2.0 * np.pi * turns, turns * per_turn + 1)
    points = np.column_stack([coil * np.cos(t), coil * np.sin(t), pitch * t / (2.0 * np.pi)])
    mesh = swept_tube(points, np.full(len(t), radius), 12)
    assert is_watertight(merged(mesh))
    assert signed_volume(mesh) > 0.0
    length = turns * np.hypot(2.0 * np.pi * coil, pitch)  # of the smooth helix
    np.testing.assert_allclose(mesh.areas[: 2 * 12 * (len(t) - 1)].sum(), 2.0 * np.pi * radius * length, rtol=2e-3)


@pytest.mark.parametrize(
    ("points", "message"),
    [
        ([[0, 0, 0], [0, 0, 0], [1, 0, 0]], "coincide"),
        ([[0, 0, 0], [1, 0, 0], [0.1, 0.05, 0]], "turns back on itself"),
        ([[0, 0, 0], [0.3, 0, 0], [0.3, 0.01, 0], [0, 0.01, 0]], "bend at point 2 is too tight"),
    ],
)
def test_tubes_that_would_fold_are_refused(points: list[list[float]], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        swept_tube(np.array(points, dtype=float), np.full(len(points), 0.02))


def test_profile_from_left_to_right_shows_its_front_towards_facing() -> None:
    profile = np.array([[-0.04, 0.0], [0.04, 0.0]])
    for start, end in ((-Y, Y), (Y, -Y)):  # whichever way the axis runs
        mesh = extruded(profile, start, end, X, -Z)
        np.testing.assert_allclose(mesh.normals, [-Z, -Z], atol=1e-15)
        np.testing.assert_allclose(mesh.areas.sum(), 0.08 * 2.0, rtol=1e-14)


def test_extruded_trough_has_its_profiles_length_times_the_axis() -> None:
    profile = np.array([[-0.04, 0.03], [-0.02, 0.0], [0.02, 0.0], [0.04, 0.03]])
    mesh = extruded(profile, np.zeros(3), 0.6 * Y, X, Z)
    length = 0.04 + 2.0 * np.hypot(0.02, 0.03)
    np.testing.assert_allclose(mesh.areas.sum(), length * 0.6, rtol=1e-14)
    inward = np.array([0.0, 0.3, 0.03]) - mesh.corners.mean(axis=1)
    assert np.all(np.einsum("mk,mk->m", mesh.normals, inward) > 0.0)


def test_revolved_profile_on_the_axis_at_both_ends_closes_a_cone() -> None:
    sides, radius, height = 64, 0.05, 0.12
    profile = np.array([[0.0, height], [radius, 0.0], [0.0, 0.0]])
    mesh = revolved(profile, np.array([0.3, 0.2, 0.1]), Y, sides)
    assert is_watertight(merged(mesh))
    base = 0.5 * sides * ring_radius(radius, sides) ** 2 * np.sin(2.0 * np.pi / sides)
    np.testing.assert_allclose(signed_volume(mesh), base * height / 3.0, rtol=1e-12)


def test_profile_walked_upwards_shows_its_front_to_the_axis() -> None:
    mesh = revolved(np.array([[0.05, 0.0], [0.05, 0.1]]), np.zeros(3), Z, 24)
    centres = mesh.corners.mean(axis=1) * [1.0, 1.0, 0.0]
    assert np.all(np.einsum("mk,mk->m", mesh.normals, centres) < 0.0)
    np.testing.assert_allclose(mesh.areas.sum(), 2.0 * np.pi * 0.05 * 0.1, rtol=1e-12)
