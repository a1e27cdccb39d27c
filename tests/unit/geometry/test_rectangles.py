import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.geometry.closed import edge_uses, is_watertight, merged, signed_volume
from sim.geometry.frame import Frame, Hole
from sim.geometry.mesh import FloatArray, joined
from sim.geometry.rectangles import (
    FACES,
    box,
    box_frames,
    frame_mesh,
    rectangle,
    rectangle_part,
    rectangle_with_holes,
)

X, Y, Z = np.eye(3)
WIDTH, HEIGHT = 1.2, 0.6


def wall(holes: list[Hole]) -> tuple[FloatArray, FloatArray, FloatArray, list[Hole]]:
    return np.array([0.3, 0.1, 0.2]), WIDTH * X, HEIGHT * Z, holes


def open_length(holes: list[Hole], *, with_covers: bool) -> tuple[float, int]:
    """Length of the edges that belong to one triangle only, and how often the most used edge is used."""
    origin, u, v, _ = wall(holes)
    parts = [rectangle_part(origin, u, v, hole) for hole in holes] if with_covers else []
    mesh = merged(joined([rectangle_with_holes(origin, u, v, holes), *parts]))
    pairs = np.sort(mesh.faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    edges, uses = np.unique(pairs, axis=0, return_counts=True)
    single = mesh.vertices[edges[uses == 1]]
    return float(np.linalg.norm(single[:, 1] - single[:, 0], axis=1).sum()), int(uses.max())


def test_rectangle_is_two_triangles_towards_the_cross_product_of_its_edges() -> None:
    mesh = rectangle(np.zeros(3), WIDTH * X, HEIGHT * Y)
    assert len(mesh.faces) == 2
    np.testing.assert_allclose(mesh.areas.sum(), WIDTH * HEIGHT, rtol=1e-14)
    np.testing.assert_allclose(mesh.normals, [Z, Z], atol=1e-15)


@pytest.mark.parametrize(
    ("holes", "triangles"),
    [
        ([(0.2, 0.1, 0.5, 0.4)], 8),
        ([(0.2, 0.0, 0.5, 0.4)], 6),  # a door: down to the lower edge
        ([(0.2, 0.0, 0.5, 0.6)], 4),  # a gap from edge to edge
        ([(0.1, 0.1, 0.3, 0.3), (0.5, 0.1, 0.9, 0.3)], 14),
        ([(0.0, 0.0, 1.2, 0.6)], 0),
    ],
)
def test_rectangle_with_holes_uses_the_fewest_triangles(holes: list[Hole], triangles: int) -> None:
    # A polygon of v corners with h holes takes v + 2 h - 2 triangles (Euler's formula).
    mesh = rectangle_with_holes(*wall(holes))
    assert len(mesh.faces) == triangles
    area = WIDTH * HEIGHT - sum((u1 - u0) * (v1 - v0) for u0, v0, u1, v1 in holes)
    np.testing.assert_allclose(mesh.areas.sum(), area, atol=1e-15)


def test_an_opening_away_from_the_edges_leaves_the_walls_own_edges_uncut() -> None:
    mesh = rectangle_with_holes(*wall([(0.1, 0.1, 0.3, 0.2), (0.5, 0.15, 0.9, 0.5)]))
    u, v = (mesh.vertices - [0.3, 0.1, 0.2])[:, [0, 2]].T
    on_rim = np.isclose(u * (WIDTH - u) * v * (HEIGHT - v), 0.0, atol=1e-12)
    assert np.count_nonzero(on_rim) == 4


@st.composite
def holes_in_a_grid(draw: st.DrawFn) -> list[Hole]:
    """Some cells of an uneven grid, some of them next to each other, each shrunk or not: never overlapping."""
    columns = [0.0, 0.13, 0.4, 0.77, WIDTH]
    rows = [0.0, 0.21, 0.35, HEIGHT]
    cells = [(i, j) for i in range(4) for j in range(3)]
    chosen = draw(st.lists(st.sampled_from(cells), unique=True, min_size=1, max_size=8))
    shrinks = draw(st.lists(st.sampled_from([0.0, 0.01, 0.02]), min_size=len(chosen), max_size=len(chosen)))
    return [
        (columns[i] + s, rows[j] + s, columns[i + 1] - s, rows[j + 1] - s)
        for (i, j), s in zip(chosen, shrinks, strict=True)
    ]


@given(holes_in_a_grid())
def test_any_holes_keep_area_side_and_seams(holes: list[Hole]) -> None:
    mesh = rectangle_with_holes(*wall(holes))
    cut = sum((u1 - u0) * (v1 - v0) for u0, v0, u1, v1 in holes)
    np.testing.assert_allclose(mesh.areas.sum(), WIDTH * HEIGHT - cut, atol=1e-12)
    assert np.all(mesh.areas > 1e-9)
    np.testing.assert_allclose(mesh.normals, np.broadcast_to(-Y, mesh.normals.shape), atol=1e-9)
    if len(mesh.faces):
        rim, most = open_length(holes, with_covers=False)
        assert most <= 2
        # Open edges are the outline and the outlines of the holes; a crack along a seam would add to them.
        outlines = outline_length(holes)
        np.testing.assert_allclose(rim, outlines, rtol=1e-9)


def outline_length(holes: list[Hole]) -> float:
    """Length of the border between wall and nothing, on the grid of all coordinates."""
    u = np.unique([0.0, WIDTH, *(value for hole in holes for value in (hole[0], hole[2]))])
    v = np.unique([0.0, HEIGHT, *(value for hole in holes for value in (hole[1], hole[3]))])
    is_wall = np.zeros((len(u) + 1, len(v) + 1), dtype=bool)
    is_wall[1:-1, 1:-1] = True
    for u0, v0, u1, v1 in holes:
        inside = ((u[:-1] >= u0) & (u[1:] <= u1))[:, None] & ((v[:-1] >= v0) & (v[1:] <= v1))
        is_wall[1:-1, 1:-1] &= ~inside
    upright = (is_wall[1:, 1:-1] != is_wall[:-1, 1:-1]) * np.diff(v)[None, :]
    level = (is_wall[1:-1, 1:] != is_wall[1:-1, :-1]) * np.diff(u)[:, None]
    return float(upright.sum() + level.sum())


def test_cover_fills_its_hole_with_the_same_corners() -> None:
    hole = (0.1, 0.1, 0.3, 0.2)
    rim, most = open_length([hole], with_covers=True)
    np.testing.assert_allclose(rim, 2.0 * (WIDTH + HEIGHT), rtol=1e-12)
    assert most == 2


def test_box_is_watertight_with_fronts_outward() -> None:
    corner, size = np.array([0.1, -0.2, 0.3]), np.array([1.2, 0.6, 0.5])
    faces = box(corner, size)
    assert tuple(faces) == FACES
    body = merged(joined(list(faces.values())))
    assert is_watertight(body)
    np.testing.assert_allclose(signed_volume(body), 1.2 * 0.6 * 0.5, rtol=1e-12)
    np.testing.assert_allclose(body.bounds, [corner, corner + size], rtol=1e-14)


@pytest.mark.parametrize("inward", [False, True])
def test_box_frames_and_their_meshes_look_the_same_way(inward: bool) -> None:
    corner, size = np.zeros(3), np.array([1.2, 0.6, 0.5])
    outward = {"bottom": -Z, "top": Z, "front": -Y, "back": Y, "left": -X, "right": X}
    frames = box_frames(corner, size, 0.1, inward=inward)
    for name, frame in frames.items():
        expected = -outward[name] if inward else outward[name]
        np.testing.assert_allclose(frame.normal, expected, atol=1e-15)
        mesh = frame_mesh(frame)
        np.testing.assert_allclose(mesh.normals, [expected, expected], atol=1e-15)
    assert {name: frame.shape for name, frame in frames.items()} == {
        "bottom": (12, 6),
        "top": (12, 6),
        "front": (12, 5),
        "back": (12, 5),
        "left": (6, 5),
        "right": (6, 5),
    }


@pytest.mark.parametrize("inward", [False, True])
def test_first_cell_lies_at_the_lowest_corner_whichever_side_is_read(inward: bool) -> None:
    frames = box_frames(np.zeros(3), np.array([1.2, 0.6, 0.5]), 0.1, inward=inward)
    np.testing.assert_allclose(frames["top"].cell_centres[0], [0.05, 0.05, 0.5])
    np.testing.assert_allclose(frames["top"].cell_centres[1], [0.15, 0.05, 0.5])
    np.testing.assert_allclose(frames["front"].cell_centres[0], [0.05, 0.0, 0.05])
    np.testing.assert_allclose(frames["left"].cell_centres[1], [0.0, 0.15, 0.05])


def test_cells_less_their_holes_sum_to_the_walls_area() -> None:
    holes = ((0.13, 0.07, 0.31, 0.22), (0.5, 0.0, 0.9, 0.33))
    frame = Frame(np.zeros(3), WIDTH * X, HEIGHT * Z, (7, 5), holes, flipped=True)
    np.testing.assert_allclose(frame.cell_areas.sum(), frame_mesh(frame).areas.sum(), rtol=1e-12)


def test_edge_uses_sees_a_missing_triangle() -> None:
    body = merged(joined(list(box(np.zeros(3), np.ones(3)).values())))
    uses, _ = edge_uses(type(body)(body.vertices, body.faces[:-1]))
    assert np.count_nonzero(uses == 1) == 3
    assert not is_watertight(type(body)(body.vertices, body.faces[:-1]))
