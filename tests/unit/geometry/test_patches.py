import numpy as np
import pytest

from sim.geometry.closed import is_watertight, merged, picked, signed_volume
from sim.geometry.mesh import Mesh, joined
from sim.geometry.patches import patch_areas, patch_centres, patch_normals, patches, split_to_size
from sim.geometry.rectangles import box, rectangle
from sim.geometry.solids import sphere
from sim.geometry.sweeps import cylinder


def cube(edge: float = 0.3) -> Mesh:
    return merged(joined(list(box(np.zeros(3), np.full(3, edge)).values())))


def longest_edge(mesh: Mesh) -> float:
    return float(np.linalg.norm(mesh.corners - np.roll(mesh.corners, 1, axis=1), axis=2).max())


@pytest.mark.parametrize("size", [1.0, 0.2, 0.031])
@pytest.mark.parametrize("body", [cube(), cylinder(np.zeros(3), np.array([0.0, 0.1, 0.5]), 0.02, 9)])
def test_split_keeps_the_surface_closed_and_every_edge_short(body: Mesh, size: float) -> None:
    split = split_to_size(body, size)
    assert longest_edge(split) <= size
    assert is_watertight(split)
    np.testing.assert_allclose(split.areas.sum(), body.areas.sum(), rtol=1e-12)
    np.testing.assert_allclose(signed_volume(split), signed_volume(body), rtol=1e-12)
    assert split.areas.min() > 0.0


def test_split_leaves_small_triangles_alone() -> None:
    body = cube()
    assert split_to_size(body, 1.0) is body


def test_split_refuses_more_triangles_than_a_machine_bears() -> None:
    with pytest.raises(ValueError, match="ask for larger receivers"):
        split_to_size(cube(100.0), 0.01)


def connected(mesh: Mesh, member: np.ndarray) -> bool:
    faces = merged(mesh).faces[member]
    reached = {0}
    edges = [{frozenset((f[i], f[(i + 1) % 3])) for i in range(3)} for f in faces.tolist()]
    front = [0]
    while front:
        here = front.pop()
        for other in range(len(faces)):
            if other not in reached and edges[here] & edges[other]:
                reached.add(other)
                front.append(other)
    return len(reached) == len(faces)


@pytest.mark.parametrize("body", [cube(), sphere(np.zeros(3), 0.15, 4)])
def test_patches_cover_everything_and_are_connected_and_about_the_size(body: Mesh) -> None:
    size = 0.05
    mesh = split_to_size(body, 1.5 * size)
    ids = patches(mesh, size)
    assert len(ids) == len(mesh.faces)
    assert set(ids.tolist()) == set(range(ids.max() + 1))
    areas = patch_areas(mesh, ids)
    np.testing.assert_allclose(areas.sum(), body.areas.sum(), rtol=1e-12)
    assert 0.5 * size**2 < np.median(areas) < 2.0 * size**2
    assert areas.max() < 4.0 * size**2
    assert areas.min() > 0.02 * size**2
    assert all(connected(mesh, ids == patch) for patch in range(ids.max() + 1))


def test_patches_are_the_same_each_time() -> None:
    mesh = sphere(np.zeros(3), 0.15, 4)
    np.testing.assert_array_equal(patches(mesh, 0.05), patches(mesh, 0.05))


def test_bumps_leave_no_remnants() -> None:
    ball = sphere(np.zeros(3), 0.3, 5)
    x, y, _ = ball.vertices.T
    bumpy = Mesh(ball.vertices * (1.0 + 0.03 * np.sin(40.0 * x) * np.cos(37.0 * y))[:, None], ball.faces)
    areas = patch_areas(bumpy, patches(bumpy, 0.05))
    assert areas.min() > 0.25 * 0.05**2
    assert areas.max() < 2.5 * 0.05**2


def test_no_patch_of_a_cube_reaches_around_an_edge() -> None:
    mesh = split_to_size(cube(), 0.05)
    ids = patches(mesh, 0.05)
    normals = patch_normals(mesh, ids)
    np.testing.assert_allclose(normals[ids], mesh.normals, atol=1e-12)


def test_parallel_sheets_have_patches_of_their_own() -> None:
    x, y, z = 0.04 * np.eye(3)
    sheets = joined([rectangle(np.zeros(3), x, y), rectangle(0.1 * z, x, y)])
    np.testing.assert_array_equal(patches(sheets, 0.05), [0, 0, 1, 1])


def test_thin_twig_keeps_patches_along_its_length() -> None:
    mesh = split_to_size(cylinder(np.zeros(3), np.array([1.0, 0.0, 0.0]), 0.003, 8), 0.05)
    ids = patches(mesh, 0.05)
    x = mesh.corners[:, :, 0]
    spans = [x[ids == patch].max() - x[ids == patch].min() for patch in range(ids.max() + 1)]
    assert max(spans) < 0.11


def test_patch_centre_and_normal_of_a_rectangle() -> None:
    x, y, _ = np.eye(3)
    mesh = rectangle(np.zeros(3), 0.4 * x, 0.2 * y)
    ids = np.zeros(2, dtype=np.int64)
    np.testing.assert_allclose(patch_centres(mesh, ids), [[0.2, 0.1, 0.0]], atol=1e-15)
    np.testing.assert_allclose(patch_normals(mesh, ids), [[0.0, 0.0, 1.0]], atol=1e-15)


def test_patch_normal_of_a_closed_body_is_zero() -> None:
    body = cube()
    np.testing.assert_array_equal(patch_normals(body, np.zeros(12, dtype=np.int64)), [[0.0, 0.0, 0.0]])


def test_picked_triangles_keep_their_corners_and_no_other_vertices() -> None:
    body = cube()
    chosen = body.normals[:, 2] > 0.5
    part = picked(body, chosen)
    assert len(part.vertices) == 4
    np.testing.assert_array_equal(part.corners, body.corners[chosen])


def test_flat_mesh_off_the_origin_is_one_patch() -> None:
    # A third of the sum of three corners at 0.1 m is not 0.1 m; warnings are errors here.
    x, y, _ = np.eye(3)
    mesh = rectangle(np.array([0.5, 0.25, 0.1]), 0.01 * x, 0.01 * y)
    np.testing.assert_array_equal(patches(mesh, 0.05), [0, 0])
