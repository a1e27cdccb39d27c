"""The tree as a card walks it: nodes of four boxes in sixty-four bytes, leaves of a few triangles.

What a card waits for is memory: a load of sixteen bytes by threads that are at different places takes as long as
thirty-two loads. So the boxes lie on a grid over the scene of 2^15 steps along each axis, two bytes for each number.
"""

from typing import Any, NamedTuple

import numpy as np

from sim.transport.arrays import F32, F64, I32, I64, Tree
from sim.transport.tree_build import MARGIN_ROUNDINGS, ROUNDING
from sim.transport.tree_split import split_in_two
from sim.transport.tree_traverse import FOUR_ROUNDINGS, TIE

LEAF = 2
"""Most triangles of a leaf."""
WIDTH = 4
"""Children of a node."""
NODE_ROW = 16
"""Words of a node: along x, y and z the low and high bound of four boxes, two bytes each, then the four children."""
LEAF_ROW = 16
"""Numbers of a triangle: three rows of four by which a place about the scene's centre is multiplied, which gives its
height over the triangle and its shares of the two edges; then how much the shares change at most in a metre."""
TRIANGLE_ROW = 10
"""Numbers of a triangle in double precision: corner, two edges, its row in the scene."""
MOST_LARGE = 32
"""Most triangles that are tested before the tree."""
COUNT_BITS = 5
"""A reference to a leaf is ``-(first << COUNT_BITS | count) - 1``, with one triangle or more."""
DONE = -(2**31)
"""Reference at the end of a walk."""
STEPS = 2**15
EMPTY = STEPS - 1
"""Word of a child that is none: its low bound is the grid's end and its high bound the start."""
HEIGHT_ROUNDINGS = 128.0
"""Bound of what single precision loses in a distance to a triangle that is met at a right angle, in roundings of the
scene's size, and twice of what it loses in a place there. At other angles it is so much more as the way is longer."""
THIN = 2.0**-16
"""Triangles of less height, as a share of the scene's size, are left to double precision."""
GRID_ROUNDINGS = 48.0
"""Bound of what single precision loses in a distance to a plane of the grid, and in the key that is made of it, in
roundings of the grid's size: boxes are wider by so much, and a distance changes by no less than its plane moves."""


class CardTree(NamedTuple):
    """A tree of boxes, four to a node, over triangles.

    ``nodes`` (m * NODE_ROW,), ``leaves`` (n * LEAF_ROW,) and ``triangle`` (n * TRIANGLE_ROW,): see there.
    ``grid`` (8,): x, y, z of the place STEPS before the grid's start, and the step; a bound of what rounding a distance
    in the scene costs, and that of HEIGHT_ROUNDINGS.
    ``roots`` (4,): count of large triangles, which are tested first, and reference of the tree's root, or DONE.
    ``rank`` (n,): place of each triangle of the scene in ``leaves``. ``frame`` (8,): as in `Tree`.
    """

    nodes: I32
    leaves: F32
    grid: F32
    roots: I32
    triangle: F64
    rank: I32
    frame: F64


def card_tree(tree: Tree, leaf: int = LEAF) -> CardTree:
    """Return the tree that a card walks over the triangles of one for the CPU.

    Parameters
    ----------
    tree : Tree
    leaf : int
        Most triangles of a leaf, 1 to 31.
    """
    corner, edge1, edge2 = tree.triangle[:, :3], tree.triangle[:, 3:6], tree.triangle[:, 6:]
    corners = np.stack([corner, corner + edge1, corner + edge2], axis=1)
    around = np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1)
    large = int(tree.first[1:].min(initial=len(around)))
    assert large <= MOST_LARGE, "the large triangles are few"
    around = np.ascontiguousarray(around[large:])
    items = np.arange(len(around))
    grid = _grid(tree.frame)
    nodes, root = np.zeros(0, dtype=np.int32), DONE
    if len(around):
        boxes, children = np.zeros((2 * len(around), 6)), np.zeros((2 * len(around), 3), dtype=np.int64)
        centres = 0.5 * (around[:, :3] + around[:, 3:])
        used = split_in_two(around, centres, items, boxes, children, leaf)
        nodes, root = _nodes(boxes[:used], children[:used], tree.frame, grid, large)
    own = np.concatenate([np.arange(large), large + items])
    order = tree.order[own]
    return CardTree(
        nodes=nodes,
        leaves=_leaves(tree.triangle[own], tree.frame),
        grid=grid,
        roots=np.array([large, root, 0, 0], dtype=np.int32),
        triangle=np.concatenate([tree.triangle[own], order[:, None]], axis=1).ravel(),
        rank=np.argsort(order, kind="stable").astype(np.int32),
        frame=tree.frame,
    )


def _leaf(first: I64 | int, count: I64 | int) -> Any:  # noqa: ANN401  # what came in
    return -(first << COUNT_BITS | count) - 1


def _grid(frame: F64) -> F32:
    """Return the grid of a scene, which reaches a little beyond its box, see `CardTree`."""
    half = frame[3:6].max()
    step = np.float32(half * (1.0 + 2.0**-6) / (STEPS // 2))
    rounding = TIE + FOUR_ROUNDINGS * frame[6]
    height = HEIGHT_ROUNDINGS * ROUNDING * frame[6] / 8.0
    return np.array([-1.5 * STEPS * step] * 3 + [step, rounding, height, 0.0, 0.0], dtype=np.float32)


def _half_areas(boxes: F64) -> F64:
    size = np.maximum(boxes[:, 3:] - boxes[:, :3], 0.0)
    areas: F64 = size[:, 0] * size[:, 1] + size[:, 1] * size[:, 2] + size[:, 2] * size[:, 0]
    return areas


def _gathered(boxes: F64, children: I64) -> I64:
    """Return the two-way nodes that are the children of each node of four (m, WIDTH), -1 for none, level by level.

    The child with the largest surface gives way to its own two until there are four.
    """
    inner, areas = children[:, 0] >= 0, _half_areas(boxes)
    levels, level = [], np.flatnonzero(inner[:1])
    while len(level):
        four = np.full((len(level), WIDTH), -1)
        four[:, :2] = children[level, :1] + np.arange(2)
        for slot in range(2, WIDTH):
            size = np.where((four >= 0) & inner[four], areas[four], -1.0)
            lane = size.argmax(axis=1)
            rows = np.flatnonzero(size.max(axis=1) >= 0.0)
            first = children[four[rows, lane[rows]], 0]
            four[rows, lane[rows]], four[rows, slot] = first, first + 1
        levels.append(four)
        level = four[(four >= 0) & inner[four]]
    return np.concatenate(levels) if levels else np.zeros((0, WIDTH), dtype=np.int64)


def _nodes(boxes: F64, children: I64, frame: F64, grid: F32, first: int) -> tuple[I32, int]:
    """Return the rows of nodes and the reference of the root; triangles begin at row `first`."""
    four = _gathered(boxes, children)
    there, inner = four >= 0, children[:, 0] >= 0
    count = children[:, 2] - children[:, 1]
    references = _leaf(children[:, 1] + first, count)
    below = four[there & inner[four]]
    references[below] = 1 + np.arange(len(below))
    references[0] = 0 if inner[0] else references[0]
    step, start = float(grid[3]), grid[:3].astype(np.float64) + STEPS * float(grid[3])
    margin = MARGIN_ROUNDINGS * ROUNDING * frame[6] / 8.0 + GRID_ROUNDINGS * ROUNDING * STEPS * step
    rows = np.zeros((len(four), WIDTH, WIDTH), dtype=np.int64)
    low = np.floor((boxes[four, :3] - frame[:3] - margin - start) / step).astype(np.int64)
    high = np.ceil((boxes[four, 3:] - frame[:3] + margin - start) / step).astype(np.int64)
    words = np.where(there[:, :, None], np.clip(low, 0, EMPTY) | np.clip(high, 0, EMPTY) << 16, EMPTY)
    rows[:, :3], rows[:, 3] = words.transpose(0, 2, 1), np.where(there, references[four], 0)
    return rows.astype(np.int32).ravel(), int(references[0])


def _leaves(triangle: F64, frame: F64) -> F32:
    """Return the rows of triangles in single precision."""
    corner, edge1, edge2 = triangle[:, :3] - frame[:3], triangle[:, 3:6], triangle[:, 6:]
    normal = np.cross(edge1, edge2)
    area = np.linalg.norm(normal, axis=1)
    longest = np.linalg.norm(np.stack([edge1, edge2, edge2 - edge1]), axis=2).max(axis=0)
    # Zeros say nothing of where a ray is, and a slack of one over nothing lets double precision decide.
    flat = area > THIN * (frame[6] / 8.0) * longest
    area = np.where(flat, area, np.inf)[:, None]
    shares = np.cross(edge2, normal) / area**2, np.cross(normal, edge1) / area**2
    rows = np.zeros((len(triangle), LEAF_ROW // 4, 4))
    for place, row in enumerate((normal / area, *shares)):
        rows[:, place, :3] = row
        rows[:, place, 3] = -(row * corner).sum(axis=1)
    rows[:, 3, 0] = np.where(flat, np.linalg.norm(np.stack(shares), axis=2).max(axis=0), 1.0)
    return rows.astype(np.float32).ravel()
