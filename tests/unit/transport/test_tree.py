"""The tree against looking at every triangle, and closed bodies that no ray may leave."""

from collections.abc import Callable

import numpy as np
import pytest

from sim.geometry.mesh import joined
from sim.geometry.rectangles import box
from sim.geometry.solids import sphere
from sim.transport import tree_traverse
from sim.transport.arrays import F64, I64, Tree
from sim.transport.tree_build import WIDTH, build_tree, memory_of
from sim.transport.tree_lanes import ABOUT, CHILD, NAMES, ORDERS, START, THERE, place_in_order
from sim.transport.tree_pairs import partners
from sim.transport.tree_traverse import LATER, MISS, NEAR_BY, closest_hits, next_hits
from tests.support.brute_force import closest
from tests.support.sizes import COMPILED, sized

pytestmark = pytest.mark.tiny

POISON = -77


def generator(seed: int) -> np.random.Generator:
    return np.random.Generator(np.random.PCG64(seed))


def unit_vectors(rng: np.random.Generator, count: int) -> F64:
    drawn = rng.standard_normal((count, 3))
    return drawn / np.linalg.norm(drawn, axis=1, keepdims=True)


def soup(rng: np.random.Generator, count: int, size: float = 0.3) -> F64:
    return rng.random((count, 1, 3)) + size * rng.standard_normal((count, 3, 3))


def slivers(rng: np.random.Generator, count: int) -> F64:
    corners = soup(rng, count)
    corners[:, 2] = corners[:, 1] + 1e-6 * (corners[:, 2] - corners[:, 1])
    return corners


def with_degenerate(rng: np.random.Generator, count: int) -> F64:
    """A third are points, a third are lines, a third are triangles."""
    corners = soup(rng, count)
    corners[0::3, 1:] = corners[0::3, :1]
    corners[1::3, 2] = 0.5 * (corners[1::3, 0] + corners[1::3, 1])
    return corners


def coplanar(rng: np.random.Generator, count: int) -> F64:
    corners = soup(rng, count)
    corners[:, :, 2] = 0.5
    return corners


def stacked(rng: np.random.Generator, count: int) -> F64:
    """One centre for all, so that no plane parts them."""
    corners = soup(rng, count)
    low, high = corners.min(axis=1, keepdims=True), corners.max(axis=1, keepdims=True)
    return corners - 0.5 * (low + high)


def repeated(rng: np.random.Generator, count: int) -> F64:
    return np.repeat(soup(rng, max(1, count // 8)), 8, axis=0)[:count]


def axis_parallel(rng: np.random.Generator, count: int) -> F64:
    corners = soup(rng, count)
    row = np.arange(count)
    corners[row, :, row % 3] = np.round(corners[row, :1, row % 3] * 8.0) / 8.0
    return corners


def far_away(rng: np.random.Generator, count: int) -> F64:
    return soup(rng, count) + np.array([300.0, -200.0, 100.0])


def minute(rng: np.random.Generator, count: int) -> F64:
    return soup(rng, count) * 1e-3


def halved(rng: np.random.Generator, count: int) -> F64:
    """Halves of parallelograms, one after the other; an odd one out is a triangle alone."""
    corners = soup(rng, count)
    a, b, c = corners[0 : count - 1 : 2].transpose(1, 0, 2)
    corners[1::2] = np.stack([b + c - a, c, b], axis=1)
    return corners


SHAPES: list[Callable[[np.random.Generator, int], F64]] = [
    soup,
    slivers,
    with_degenerate,
    coplanar,
    stacked,
    repeated,
    axis_parallel,
    far_away,
    minute,
    halved,
]
COUNTS = [1, 2, WIDTH, WIDTH + 1, 40, 300]


def rays(rng: np.random.Generator, corners: F64, count: int) -> tuple[F64, F64]:
    """Origins around the triangles; one in eight directions is along an axis, one in eight square to one."""
    low, high = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
    middle, half = 0.5 * (low + high), 0.75 * (high - low) + 1e-3
    origins = middle + half * rng.uniform(-1.0, 1.0, (count, 3))
    directions = unit_vectors(rng, count)
    directions[0::8] = 0.0
    directions[np.arange(0, count, 8), rng.integers(0, 3, len(directions[0::8]))] = rng.choice([-1.0, 1.0])
    square = np.arange(1, count, 8)
    directions[square, rng.integers(0, 3, len(square))] = 0.0
    return origins, directions / np.linalg.norm(directions, axis=1, keepdims=True)


def hits(corners: F64, origins: F64, directions: F64) -> tuple[F64, I64]:
    """Closest hits into poisoned outputs, all of which must be overwritten."""
    distance, triangle = np.full(len(origins), np.nan), np.full(len(origins), POISON)
    closest_hits(build_tree(corners), origins, directions, distance, triangle)
    assert not np.any(np.isnan(distance))
    assert not np.any(triangle == POISON)
    assert np.array_equal(np.isinf(distance), triangle == MISS)
    return distance, triangle


def assert_same(corners: F64, origins: F64, directions: F64) -> int:
    """Compare where rounding cannot decide; return how many rays hit."""
    distance, triangle = hits(corners, origins, directions)
    expected, rows, sure = closest(corners, origins, directions)
    assert sure.mean() > 0.98
    np.testing.assert_allclose(distance[sure], expected[sure], rtol=1e-9, atol=1e-9)
    for row in np.flatnonzero(sure & np.isfinite(expected)):
        assert int(triangle[row]) == max(rows[row])
    return int(np.isfinite(expected).sum())


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize("shape", SHAPES)
def test_closest_hit_is_that_of_brute_force(shape: Callable[..., F64], count: int) -> None:
    if not COMPILED and count > 17:
        count = 40
    found = 0
    for seed in range(sized(3, 1)):
        rng = generator(1000 * count + seed)
        corners = shape(rng, count)
        found += assert_same(corners, *rays(rng, corners, sized(100, 25)))
    if count > 40 and shape is not slivers:
        assert found > 0


@pytest.mark.skipif(not COMPILED, reason="a hundred thousand triangles need compiled code")
def test_many_triangles() -> None:
    rng = generator(5)
    corners = soup(rng, 100_000, size=0.01)
    found = assert_same(corners, *rays(rng, corners, 50))
    assert found > 10


def test_what_is_looked_at_later_is_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """In trees that the processor does not keep near, pieces are looked at rays later."""
    monkeypatch.setattr(tree_traverse, "NEAR_BY", 10)  # of plain Python; compiled code needs as many as there are
    rng = generator(6)
    corners = soup(rng, sized(40_000, 30), size=0.05 if COMPILED else 1.0)
    tree = build_tree(corners)
    assert len(tree.piece) > (NEAR_BY if COMPILED else 10)
    for count in (1, 2, 3, LATER + 2, sized(3000, 60)):
        origins, directions = rays(rng, corners, count)
        expected, found = hits(corners, origins, directions), (np.full(count, np.nan), np.full(count, POISON))
        next_hits(tree, origins, directions, np.full(count, MISS), *found)
        assert all(np.array_equal(one, other) for one, other in zip(expected, found, strict=True))
    assert np.any(expected[1] != MISS)


def test_rays_past_the_scene_are_over_at_once_also_where_walks_take_turns() -> None:
    rng = generator(9)
    corners = soup(rng, sized(3000, 60))
    tree = build_tree(corners)
    origins, directions = rays(rng, corners, 40)
    past = np.arange(40) % 3 != 0
    origins[past], directions[past] = [90.0, 90.0, 90.0], [0.0, 0.0, 1.0]
    distance, triangle = np.full(40, np.nan), np.full(40, POISON)
    next_hits(tree, origins, directions, np.full(40, MISS), distance, triangle)
    assert np.all(np.isinf(distance[past]))
    assert np.all(triangle[past] == MISS)
    assert all(
        np.array_equal(*both) for both in zip(hits(corners, origins, directions), (distance, triangle), strict=True)
    )
    assert np.any(triangle != MISS)


def test_of_surfaces_that_touch_the_later_one_is_hit() -> None:
    """However the tree turns out: a lamp let into a wall stands behind it in the list."""
    flat = np.array([[[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]])
    up = np.array([0.0, 0.0, 1.0])
    rng = generator(3)
    for count in (2, 5, 23):
        corners = np.concatenate([flat + up, np.repeat(flat, count, axis=0), flat - 1e-6 * up])
        u = 0.5 * rng.random((20, 2))
        origins = np.column_stack([u, np.full(20, 0.5)])
        _, triangle = hits(corners, origins, np.tile(-up, (20, 1)))
        assert set(triangle.tolist()) == {count}


def test_the_order_of_triangles_changes_no_distance() -> None:
    rng = generator(8)
    corners = soup(rng, 60)
    origins, directions = rays(rng, corners, sized(2000, 50))
    turned = rng.permutation(len(corners))
    there, triangles = hits(corners, origins, directions)
    back, others = hits(corners[turned], origins, directions)
    assert np.array_equal(there, back)
    hit = triangles != MISS
    assert np.array_equal(triangles[hit], turned[others[hit]])


def test_knowing_the_triangle_left_changes_nothing() -> None:
    rng = generator(9)
    corners = soup(rng, 400)
    origins, directions = rays(rng, corners, sized(20_000, 100))
    distance, triangle = hits(corners, origins, directions)
    on = triangle != MISS
    start, onward = origins[on] + distance[on, None] * directions[on], unit_vectors(rng, int(on.sum()))
    expected = hits(corners, start, onward)
    found = np.full(len(start), np.nan), np.full(len(start), POISON)
    next_hits(build_tree(corners), start, onward, triangle[on], *found)
    assert np.array_equal(expected[0], found[0])
    assert np.array_equal(expected[1], found[1])
    assert 0.1 < float((found[1] == MISS).mean()) < 0.9


def rotation(rng: np.random.Generator) -> F64:
    turned, _ = np.linalg.qr(rng.standard_normal((3, 3)))
    return turned


def closed_bodies() -> dict[str, F64]:
    plain = joined(list(box(np.zeros(3), np.array([1.2, 0.6, 0.6])).values())).corners
    rng = generator(21)
    flat = joined(list(box(np.zeros(3), np.array([3.0, 2.0, 1e-3])).values())).corners
    return {
        "box": plain,
        "turned box": plain @ rotation(rng).T + rng.standard_normal(3),
        "flat turned box": flat @ rotation(rng).T,
        "icosphere": sphere(np.array([0.1, 0.2, 0.3]), 0.3, level=sized(4, 1)).corners,
        "far icosphere": sphere(np.array([50.0, 20.0, -30.0]), 0.3, level=sized(4, 1)).corners,
    }


BODIES = closed_bodies()


def inside(corners: F64, rng: np.random.Generator, count: int) -> F64:
    """Points within a convex body: mixtures of its corners."""
    vertices = corners.reshape(-1, 3)
    picked = vertices[rng.integers(0, len(vertices), (count, 4))]
    weights = rng.dirichlet(np.ones(5), count)
    return np.einsum("ij,ijk->ik", weights[:, :4], picked) + weights[:, 4:] * vertices.mean(axis=0)


@pytest.mark.parametrize("body", BODIES)
def test_no_ray_leaves_a_closed_body(body: str) -> None:
    corners, count = BODIES[body], sized(200_000, 200)
    rng = generator(33)
    distance, triangle = hits(corners, inside(corners, rng, count), unit_vectors(rng, count))
    assert int((triangle == MISS).sum()) == 0
    assert np.all(distance < 10.0)


@pytest.mark.parametrize("body", [name for name in BODIES if "flat" not in name])
def test_no_ray_slips_through_an_edge_or_a_corner(body: str) -> None:
    corners, count = BODIES[body], sized(200_000, 200)
    rng = generator(34)
    start = inside(corners, rng, count)
    row, side = rng.integers(0, len(corners), count), rng.integers(0, 3, count)
    along = rng.random((count, 1))
    along[::4] = 0.0
    target = corners[row, side] + along * (corners[row, (side + 1) % 3] - corners[row, side])
    distance = np.linalg.norm(target - start, axis=1)
    directions = (target - start) / np.maximum(distance, 1e-6)[:, None]
    sides = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[row]
    cosine = np.abs(np.einsum("ij,ij->i", sides, directions)) / np.linalg.norm(sides, axis=1)
    # Where a ray that grazes a face meets its edge is beyond the last digit; it takes aim to do that.
    usable = (distance > 1e-6) & (cosine > 1e-3)
    assert usable.mean() > 0.5
    _, triangle = hits(corners, start[usable], directions[usable])
    assert int((triangle == MISS).sum()) == 0


def test_a_ray_that_lies_in_a_triangle_s_plane_misses_it() -> None:
    corners = np.array([[[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]])
    _, triangle = hits(corners, np.array([[-1.0, 0.2, 0.0]]), np.array([[1.0, 0.0, 0.0]]))
    assert triangle.tolist() == [MISS]


def leaf_rows(tree: Tree, leaf: int) -> I64:
    """Rows in the scene of a leaf's triangles."""
    there, _, first = (int(part) for part in tree.lanes[leaf, ABOUT, THERE : START + 1])
    halves = tree.names[first : first + there.bit_count(), NAMES:].astype(np.int64).ravel()
    return halves[halves >= 0]


@pytest.mark.parametrize("shape", [soup, halved])
def test_every_triangle_is_in_one_leaf(shape: Callable[..., F64]) -> None:
    corners = shape(generator(4), sized(2000, 60))
    tree = build_tree(corners)
    rows = np.concatenate([leaf_rows(tree, leaf) for leaf in range(len(tree.block))])
    assert sorted(rows.tolist()) == list(range(len(corners)))
    held = tree.names[tree.place, NAMES:]
    assert np.all((held == np.arange(len(corners))[:, None]).any(axis=1))
    leaves = -1 - tree.child[:, CHILD][tree.bounds[:, 0] <= tree.bounds[:, 3]]
    assert sorted(leaves[leaves >= 0].tolist()) == list(range(1, len(tree.block)))


def test_halves_of_parallelograms_are_one_piece() -> None:
    corners = halved(generator(12), 200)
    shuffled = generator(13).permutation(len(corners))
    turned = np.array([np.roll(corner, turn, axis=0) for turn, corner in enumerate(corners)])[shuffled]
    found = partners(turned)
    assert np.all(found >= 0)
    assert np.array_equal(found[found // 3] // 3, np.arange(len(corners)))
    assert np.array_equal(shuffled[found // 3] // 2, shuffled // 2)
    assert len(build_tree(turned).piece) == 100


def test_triangles_that_share_an_edge_alone_stay_apart() -> None:
    kite = np.array([[[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[1, 0, 0], [1, 1.001, 0], [0, 1, 0]]], dtype=float)
    assert partners(kite).tolist() == [-1, -1]
    bent = np.array([[[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[1, 0, 0], [1, 1, 1e-9], [0, 1, 0]]], dtype=float)
    assert partners(bent).tolist() == [-1, -1]


def test_boxes_of_nodes_hold_their_triangles() -> None:
    """And with room to spare for what single precision loses."""
    corners = soup(generator(4), sized(2000, 60))
    tree = build_tree(corners)

    def held(node: int, lane: int) -> F64:
        reference = int(tree.child[node, CHILD, lane])
        if reference < 0:
            return corners[leaf_rows(tree, -reference - 1)].reshape(-1, 3) - tree.frame[:3]
        lanes = np.flatnonzero(tree.bounds[reference, 0] <= tree.bounds[reference, 3])
        return np.concatenate([held(reference, int(other)) for other in lanes])

    spare = 2.0**-23 * float(np.linalg.norm(tree.frame[3:6]))
    for node in range(len(tree.child)):
        for lane in np.flatnonzero(tree.bounds[node, 0] <= tree.bounds[node, 3]):
            points = held(node, int(lane))
            assert np.all(points - spare >= tree.bounds[node, :3, lane])
            assert np.all(points + spare <= tree.bounds[node, 3:6, lane])


def test_far_children_come_first() -> None:
    tree = build_tree(soup(generator(5), sized(600, 60)))
    for node in range(len(tree.child)):
        there = tree.bounds[node, 0] <= tree.bounds[node, 3]
        centre = tree.bounds[node, :3] + tree.bounds[node, 3:6]
        for octant in range(8):
            word = int(tree.orders[node, ORDERS + octant])
            lanes = [word >> place_in_order(turn) & 15 for turn in range(WIDTH)]
            assert sorted(lanes) == list(range(WIDTH))
            towards = np.array([-1.0 if octant >> axis & 1 else 1.0 for axis in range(3)])
            along = (towards @ centre)[[lane for lane in lanes if there[lane]]]
            assert np.all(np.diff(along) <= 1e-5)


def test_the_tree_is_small() -> None:
    """Less than 150 bytes a triangle."""
    corners = soup(generator(6), sized(20_000, 16_000), size=0.01)
    tree = build_tree(corners)
    assert memory_of(tree) < 150 * len(corners)
