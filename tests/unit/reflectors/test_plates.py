"""The plates that close a trough."""

import numpy as np
import pytest

from sim.geometry.mesh import Mesh
from sim.reflectors.curve import involute, parabola
from sim.reflectors.plates import NO_PLATE, end_plate, triangulated

X, Y, Z = np.eye(3)


@pytest.mark.parametrize(
    "polygon",
    [
        [(0, 0), (1, 0), (0, 1)],
        [(0, 0), (4, 0), (4, 3), (2, 1), (0, 3)],
        [(0, 3), (0, 0), (1, 0), (1, 2), (2, 2), (2, 0), (3, 0), (3, 3)],
        parabola(0.01, 0.2, turn=0.1).tolist(),
        involute(0.01, 0.05, turn=0.1).tolist(),
    ],
)
def test_triangles_fill_the_polygon_once(polygon: list[tuple[float, float]]) -> None:
    corners = np.array(polygon, dtype=np.float64)
    faces = triangulated(corners)
    following = np.roll(corners, -1, axis=0)
    area = 0.5 * (corners[:, 0] * following[:, 1] - corners[:, 1] * following[:, 0]).sum()  # shoelace
    mesh = Mesh(np.column_stack([corners, np.zeros(len(corners))]), faces)
    assert len(faces) == len(corners) - 2
    assert np.all(mesh.area_vectors[:, 2] > 0.0)
    assert mesh.areas.sum() == pytest.approx(area, rel=1e-12)
    used = {tuple(sorted(edge)) for face in faces.tolist() for edge in zip(face, np.roll(face, -1), strict=True)}
    assert {tuple(sorted((i, (i + 1) % len(corners)))) for i in range(len(corners))} <= used


def test_plate_stands_across_the_axis() -> None:
    plate = end_plate(np.array([[-1.0, 0.0], [0.0, -1.0], [1.0, 0.0]]), np.array([5.0, 6.0, 7.0]), X, Z)
    assert plate.vertices.tolist() == [[4.0, 6.0, 7.0], [5.0, 6.0, 6.0], [6.0, 6.0, 7.0]]
    assert plate.normals.tolist() == [np.cross(X, Z).tolist()]


@pytest.mark.parametrize(
    "profile",
    [
        [(-1, -1), (1, -1)],
        [(-2, 0), (-1, -1), (0, 1), (1, -1), (2, 0)],
        [(-1, -1), (0, -1), (1, -1)],
        [(1, 0), (0, -1), (-1, 0)],
    ],
)
def test_profiles_without_a_plate(profile: list[tuple[float, float]]) -> None:
    with pytest.raises(ValueError, match=NO_PLATE):
        end_plate(np.array(profile, dtype=np.float64), np.zeros(3), X, Z)
