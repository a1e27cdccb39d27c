"""From two-way splits to the tree that rays walk: nodes of sixteen children, leaves of up to sixteen pieces.

Which boxes of the two-way tree become children of one node is chosen by dynamic programming over the best forest of at
most i roots under each node (H. Ylitie, T. Karras, S. Laine, "Efficient incoherent ray traversal on GPUs through
compressed wide BVHs", High Performance Graphics 2017, section 4).
"""

from typing import cast

import numpy as np
import numpy.typing as npt

from sim.transport.arrays import F32, F64, I32, I64, Tree
from sim.transport.jit import kernel
from sim.transport.pages import side_by_side
from sim.transport.tree_lanes import (
    ABOUT,
    CHILD,
    COLUMNS,
    NAMES,
    NODE,
    OFF,
    ORDERS,
    PAIRS,
    PIECE,
    SLACK,
    START,
    THERE,
    WORDS,
    place_in_order,
)
from sim.transport.tree_pairs import partners
from sim.transport.tree_split import GROUP, half_area, split_in_two

Columns = tuple[F64, F64, F64]
"""Coordinates of many vectors, each (p,)."""

WIDTH = 16
"""Children of a node, and pieces of a leaf."""
LEAF_COST = 1.0
"""Time of a leaf over that of a node."""
LARGE = 0.02
"""Pieces whose box has more than this share of the scene's surface are tested before the tree."""
ROUNDING = 2.0**-24
"""Largest relative error of rounding to single precision."""
SLACK_ROUNDINGS = 128.0
"""Bound of the error of a single-precision edge test, see `Tree`: a distance may be off by 28 roundings over the cosine
of incidence, a coordinate by 50 and how much two of them leave of one by 100."""
MARGIN_ROUNDINGS = 8.0
PLACES = 14
EMPTY = 1e20
"""Bounds of a child that is none; finite so that no product overflows."""


@kernel
def _forests(boxes: F64, children: I64, costs: F32, picks: npt.NDArray[np.int8]) -> None:
    """Fill the least cost (nodes, WIDTH + 1) of what lies under a node as at most i trees, i > 0, and the choice.

    A choice (nodes, WIDTH + 2) is how many of i trees lie under the first child, or 0 where one fewer is as good; of
    one tree 1 if it is a node, 0 if it is a leaf; its last column splits the node's own children.
    """
    for node in range(len(children) - 1, -1, -1):
        area = half_area(boxes[node])
        first = children[node, 0]
        small = children[node, 2] - children[node, 1] <= WIDTH
        costs[node, 1] = LEAF_COST * area if small else np.inf
        if first >= 0:
            for trees in range(WIDTH, 1, -1):
                costs[node, trees] = np.inf
                for left in range(1, trees):
                    cost = costs[first, left] + costs[first + 1, trees - left]
                    if cost < costs[node, trees]:
                        costs[node, trees] = cost
                        picks[node, trees] = left
            picks[node, WIDTH + 1] = picks[node, WIDTH]
            if area + costs[node, WIDTH] < costs[node, 1]:
                costs[node, 1] = area + costs[node, WIDTH]
                picks[node, 1] = 1
        for trees in range(2, WIDTH + 1):
            if first < 0 or costs[node, trees] >= costs[node, trees - 1]:
                costs[node, trees] = costs[node, trees - 1]
                picks[node, trees] = 0


@kernel
def _join(children: I64, picks: npt.NDArray[np.int8], source: I64, child: I32, runs: I64, leaf: int) -> tuple[int, int]:
    """Write nodes and leaves; return the counts of both.

    `source` (m, WIDTH): the two-way node of each child, or -1. `child`: as in `Tree`. `runs` (leaves, 2): the run of
    pieces of each leaf; `leaf` of them are there already.
    """
    todo = np.zeros((WIDTH * WIDTH, 2), dtype=np.int64)
    origin = np.zeros(len(source), dtype=np.int64)
    used, node = 1, 0
    while node < used:
        slot, top = 0, 1
        todo[0, 0], todo[0, 1] = origin[node], WIDTH + 1
        if children[0, 0] < 0 or (node == 0 and picks[0, 1] == 0):
            todo[0, 1] = 1
        while top > 0:
            top -= 1
            at, trees = todo[top, 0], todo[top, 1]
            while 1 < trees <= WIDTH and picks[at, trees] == 0:
                trees -= 1
            if trees > 1:
                left = picks[at, trees]
                todo[top, 0], todo[top, 1] = children[at, 0], left
                todo[top + 1, 0], todo[top + 1, 1] = children[at, 0] + 1, min(trees, WIDTH) - left
                top += 2
                continue
            source[node, slot] = at
            if picks[at, 1] == 0:
                runs[leaf, 0], runs[leaf, 1] = children[at, 1], children[at, 2]
                child[node, slot] = -leaf - 1
                leaf += 1
            else:
                origin[used] = at
                child[node, slot] = used
                used += 1
            slot += 1
        node += 1
    return used, leaf


def _records(count: int, rows: int) -> F32:
    """Return zeros (count, rows, WIDTH) that start at a full cache line, so that a load of sixteen touches one line."""
    size = count * rows * WIDTH * 4
    memory = np.zeros(size + 64, dtype=np.uint8)
    start = -memory.ctypes.data % 64
    return memory[start : start + size].view(np.float32).reshape(count, rows, WIDTH)


def _orders(low: F64, high: F64, used: npt.NDArray[np.bool_]) -> I64:
    """Return for each node (m,) and octant of directions the word that tells its children from far to near, (m, 8)."""
    centre = np.where(used[:, :, None], low + high, 0.0)
    orders = np.zeros((len(low), 8), dtype=np.int64)
    places = np.array([place_in_order(turn) for turn in range(WIDTH)])
    for octant in range(8):
        along = centre @ np.array([-1.0 if octant >> axis & 1 else 1.0 for axis in range(3)])
        orders[:, octant] = (np.argsort(-along, axis=1, kind="stable") << places).sum(axis=1)
    return orders


def _pieces(corners: F64) -> tuple[F64, I64]:
    """Return corner and two edges of each piece (p, 9), and its one or two triangles (p, 2), -1 for none."""
    partner = partners(corners)
    row = np.arange(len(corners))
    first = np.flatnonzero((partner < 0) | (row < partner // 3))
    pair = partner[first] >= 0
    other = np.where(pair, partner[first] // 3, -1)
    # A parallelogram is told from the corner of its first half that the second has not.
    start = np.where(pair, partner[other] % 3, 0)
    origin = corners[first, start]
    edges = corners[first, (start + 1) % 3] - origin, corners[first, (start + 2) % 3] - origin
    return np.concatenate([origin, *edges], axis=1), np.stack([first, other], axis=1)


def piece_boxes(shape: F64, pair: npt.NDArray[np.bool_]) -> F64:
    """Return low and high corner of each piece's box, (p, 6)."""
    origin, u, v = shape[:, :3], shape[:, 3:6], shape[:, 6:]
    fourth = np.where(pair[:, None], origin + u + v, origin)
    points = np.stack([origin, origin + u, origin + v, fourth])
    return np.concatenate([points.min(axis=0), points.max(axis=0)], axis=1)


def _cross(one: Columns, two: Columns) -> Columns:
    """Return cross products of vectors given by columns, which takes a third of the time of `numpy.cross`."""
    (x, y, z), (a, b, c) = one, two
    return y * c - z * b, z * a - x * c, x * b - y * a


def _plane(vector: Columns, corner: Columns) -> tuple[F64, ...]:
    """Return a vector and what is to be added to its product with a point, which is zero at a corner."""
    (x, y, z), (a, b, c) = vector, corner
    return x, y, z, -(x * a + y * b + z * c)


def _planes(shape: F64, centre: F64) -> tuple[F64, ...]:
    """Return the columns of each piece in ``block``, COLUMNS of (p,), see `Tree`; zeros where edges span nothing."""
    columns = [shape[:, column] for column in range(9)]
    corner = columns[0] - centre[0], columns[1] - centre[1], columns[2] - centre[2]
    u, v = (columns[3], columns[4], columns[5]), (columns[6], columns[7], columns[8])
    normal = _cross(u, v)
    x, y, z = normal
    square = x * x + y * y + z * z
    over = np.divide(1.0, square, out=np.zeros_like(square), where=square > 0.0)
    found: list[F64] = [*_plane(normal, corner)]
    for a, b, c in (_cross(v, normal), _cross(normal, u)):
        found += _plane((a * over, b * over, c * over), corner)
    return tuple(found)


def _blocks(shape: F64, pair: npt.NDArray[np.bool_], runs: I64, centre: F64, reach: float) -> F32:
    """Return ``block`` of each leaf, see `Tree`."""
    rows = runs[:, :1] + np.arange(WIDTH)
    valid = rows < runs[:, 1:]
    rows = np.where(valid, rows, 0)
    block = _records(len(runs), COLUMNS + 1)
    for column, plane in enumerate(_planes(shape, centre)):
        block[:, column] = np.where(valid, plane.astype(np.float32)[rows], np.float32(0.0))
    one, two = ((shape[:, start : start + 3] ** 2).sum(axis=1) for start in (3, 6))
    longest = np.sqrt(np.where(valid, np.maximum(one, two)[rows], 0.0).max(axis=1))
    unit = SLACK_ROUNDINGS * ROUNDING * reach
    block[:, ABOUT, SLACK], block[:, ABOUT, OFF] = unit * longest, unit * longest**2
    bits, lanes = 1 << np.arange(WIDTH), block.view(np.int32)
    lanes[:, ABOUT, THERE], lanes[:, ABOUT, PAIRS] = valid @ bits, (valid & pair[rows]) @ bits
    lanes[:, ABOUT, START] = runs[:, 0]
    return block


def _large_first(around: F64, whole: F64) -> tuple[I64, I64]:
    """Return the rows of pieces that are tested before the tree, and the rows of all others."""
    size = np.maximum(around[:, 3:] - around[:, :3], 0.0)
    areas = size[:, 0] * size[:, 1] + size[:, 1] * size[:, 2] + size[:, 2] * size[:, 0]
    extent = whole[3:] - whole[:3]
    limit = LARGE * (extent[0] * extent[1] + extent[1] * extent[2] + extent[2] * extent[0])
    rank = np.argsort(-areas, kind="stable")[:WIDTH]
    large = np.sort(rank[(areas[rank] > limit) | (len(areas) <= WIDTH)])
    others = np.ones(len(areas), dtype=bool)
    others[large] = False
    return large, np.flatnonzero(others)


def _nodes(around: F64, rest: I64, margin: float, centre: F64, first: int) -> tuple[I64, F32, I64]:
    """Return the order of the pieces `rest`, ``bounds`` of nodes, see `Tree`, and runs of leaves."""
    items, count = np.arange(len(rest)), len(rest)
    boxes, children = np.zeros((2 * count, 6)), np.zeros((2 * count, 3), dtype=np.int64)
    boxed = np.ascontiguousarray(around[rest])
    two = split_in_two(boxed, 0.5 * (boxed[:, :3] + boxed[:, 3:]), items, boxes, children, GROUP, WIDTH)
    boxes, children = boxes[:two], children[:two]
    costs, picks = np.zeros((two, WIDTH + 1), dtype=np.float32), np.zeros((two, WIDTH + 2), dtype=np.int8)
    _forests(boxes, children, costs, picks)
    source, child = np.full((two, WIDTH), -1), np.zeros((two, WIDTH), dtype=np.int32)
    runs = np.zeros((two + 1, 2), dtype=np.int64)
    used, leaves = _join(children, picks, source, child, runs, 1)
    source, runs = source[:used], runs[:leaves] + first
    runs[0] = 0, first
    there = source >= 0
    low = np.where(there[:, :, None], boxes[source, :3] - centre - margin, EMPTY)
    high = np.where(there[:, :, None], boxes[source, 3:] - centre + margin, -EMPTY)
    nodes = _records(used, NODE // WIDTH)
    nodes[:, :3], nodes[:, 3:6] = low.transpose(0, 2, 1), high.transpose(0, 2, 1)
    nodes.view(np.int32)[:, CHILD] = child[:used]
    nodes.view(np.int64).reshape(used, WORDS)[:, ORDERS:] = _orders(low, high, there)
    return rest[items], nodes, runs


def build_tree(corners: F64) -> Tree:
    """Return the tree over triangles.

    Parameters
    ----------
    corners : (n, 3 corners, 3) float [m]
        At least one triangle.
    """
    shape, triangles = _pieces(corners)
    pair = triangles[:, 1] >= 0
    around = piece_boxes(shape, pair)
    whole = np.concatenate([around[:, :3].min(axis=0), around[:, 3:].max(axis=0)])
    centre, half = 0.5 * (whole[:3] + whole[3:]), 0.5 * (whole[3:] - whole[:3])
    reach = 1.001 * float(np.linalg.norm(half)) + 1e-12
    margin = MARGIN_ROUNDINGS * ROUNDING * reach
    large, rest = _large_first(around, whole)
    if len(rest):
        order, nodes, runs = _nodes(around, rest, margin, centre, len(large))
    else:
        order, nodes, runs = rest, _records(0, NODE // WIDTH), np.array([[0, len(large)]])
    order = np.concatenate([large, order])
    shape, triangles, pair = shape[order], triangles[order], pair[order]
    place = np.zeros(len(corners), dtype=np.int32)
    place[triangles[:, 0]] = np.arange(len(triangles))
    place[triangles[pair, 1]] = np.flatnonzero(pair)
    leaves, piece = _blocks(shape, pair, runs, centre, reach), np.zeros((len(shape), PIECE))
    piece[:, :9] = shape
    piece.view(np.int32)[:, NAMES:] = triangles
    frame = np.concatenate([centre, half + margin, [8.0 * reach, 1.0 / (SLACK_ROUNDINGS * ROUNDING * reach)]])
    parts = side_by_side((nodes, leaves, piece, place, frame))
    nodes, leaves, piece, place, frame = cast(tuple[F32, F32, F64, I32, F64], tuple(parts))
    return Tree(
        bounds=nodes,
        child=nodes.view(np.int32),
        orders=nodes.view(np.int64).reshape(len(nodes), WORDS),
        block=leaves,
        lanes=leaves.view(np.int32),
        piece=piece,
        names=piece.view(np.int32),
        place=place,
        frame=frame,
    )


def memory_of(tree: Tree) -> int:
    """Return how much memory [bytes] a tree takes, of which two arrays may be the same."""
    return sum(part.nbytes for part in (tree.bounds, tree.block, tree.piece, tree.place, tree.frame))
