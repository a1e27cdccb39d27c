"""The tree as a card walks it: nodes of four boxes in sixty-four bytes, each leaf a piece.

What a card waits for is memory: a load of sixteen bytes by threads that are at different places takes as long as
thirty-two loads. So the boxes lie on a grid over the scene of 2^15 steps along each axis, two bytes for each number.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from sim.transport.arrays import F32, F64, I32, I64, Tree
from sim.transport.tree_build import MARGIN_ROUNDINGS, ROUNDING, piece_boxes
from sim.transport.tree_lanes import ABOUT, NAMES, THERE
from sim.transport.tree_split import split_in_two
from sim.transport.tree_traverse import FOUR_ROUNDINGS, MISS, TIE

WIDTH = 4
"""Children of a node."""
NODE_ROW = 16
"""Words of a node: along x, y and z the low and high bound of four boxes, two bytes each, then the four children."""
LEAF_ROW = 16
"""Numbers of a piece: three rows of four by which a place about the scene's centre is multiplied, which gives its
height over the piece and its shares of the two edges; then how much the shares change at most in a metre, and one for a
triangle, whose shares add up to one at most, or zero for a parallelogram, each of whose shares is one at most."""
PIECE_ROW = 16
"""Numbers of a piece in double precision: its corner and what is square to its edges; as two integers its triangles'
rows in the scene, the second MISS if there is none; nothing; and its edges from EDGES on."""
EDGES = 8
MOST_LARGE = 16
"""Most pieces that are tested before the tree."""
AT_A_TIME = 2
"""So many of these are tested together: their sums do not wait for each other."""
DONE = -(2**31)
"""Reference at the end of a walk; those to nodes are their rows, and one to a piece is minus one less its row."""
STEPS = 2**15
EMPTY = STEPS - 1
"""Word of a child that is none: its low bound is the grid's end and its high bound the start."""
HEIGHT_ROUNDINGS = 128.0
"""Bound of what single precision loses in a distance to a piece that is met at a right angle, in roundings of the
scene's size, and twice of what it loses in a place there. At other angles it is so much more as the way is longer."""
THIN = 2.0**-16
"""Pieces of less height, as a share of the scene's size, are left to double precision."""
NOWHERE = np.array([0.0] * 7 + [-1.0] + [0.0] * 8, dtype=np.float32)
"""Row of a piece that no ray meets: all that comes there has a share of minus one of its first edge."""
GRID_ROUNDINGS = 48.0
"""Bound of what single precision loses in a distance to a plane of the grid, and in the key that is made of it, in
roundings of the grid's size: boxes are wider by so much, and a distance changes by no less than its plane moves."""


class CardTree(NamedTuple):
    """A tree of boxes, four to a node, over pieces, which are single triangles or parallelograms of two.

    ``nodes`` (m * NODE_ROW,), ``leaves`` (p * LEAF_ROW,) and ``piece`` (p * PIECE_ROW,): see there.
    ``grid`` (8,): x, y, z of the place STEPS before the grid's start, and the step; a bound of what rounding a distance
    in the scene costs, and that of HEIGHT_ROUNDINGS; and by their bits two integers: the count of large pieces, which
    are tested first, and the reference of the tree's root, or DONE.
    ``place`` (n,): row of each triangle's piece in ``leaves``. ``frame`` (8,): as in `Tree`.
    """

    nodes: I32
    leaves: F32
    grid: F32
    piece: F64
    place: I32
    frame: F64


def card_tree(tree: Tree) -> CardTree:
    """Return the tree that a card walks over the pieces of one for the CPU."""
    shape, names = tree.piece[:, :9], tree.names[:, NAMES:]
    pair = names[:, 1] != MISS
    large = int(tree.lanes[0, ABOUT, THERE]).bit_count()
    # What fills the last of the large pieces up is nowhere.
    spare = -large % AT_A_TIME
    around = np.ascontiguousarray(piece_boxes(shape, pair)[large:])
    items = np.arange(len(around))
    grid = _grid(tree.frame)
    nodes, root = np.zeros(0, dtype=np.int32), DONE
    if len(around):
        boxes, children = np.zeros((2 * len(around), 6)), np.zeros((2 * len(around), 3), dtype=np.int64)
        centres = 0.5 * (around[:, :3] + around[:, 3:])
        used = split_in_two(around, centres, items, boxes, children, 1, 1)
        nodes, root = _nodes(boxes[:used], children[:used], tree.frame, grid, large + spare)
    own = np.concatenate([np.arange(large), large + items])
    rows = np.insert(_leaves(shape[own], pair[own], tree.frame), [large] * spare, NOWHERE, axis=0)
    exact, edges = np.zeros((len(own), PIECE_ROW)), shape[own, 3:]
    exact[:, :3], exact[:, 3:6] = shape[own, :3], np.cross(edges[:, :3], edges[:, 3:])
    exact[:, 6] = np.ascontiguousarray(names[own]).view(np.float64)[:, 0]
    exact[:, EDGES : EDGES + 6] = edges
    where = np.argsort(own).astype(np.int32)
    where[large:] += spare
    return CardTree(
        nodes=nodes,
        leaves=rows.ravel(),
        grid=np.concatenate([grid, np.array([large + spare, root], dtype=np.int32).view(np.float32)]),
        piece=np.insert(exact, [large] * spare, 0.0, axis=0).ravel(),
        place=where[tree.place],
        frame=tree.frame,
    )


def roots(tree: CardTree) -> tuple[int, int]:
    """Return the count of large pieces and the reference of the tree's root."""
    large, root = tree.grid[6:].view(np.int32)
    return int(large), int(root)


def _grid(frame: F64) -> F32:
    """Return what `CardTree` says of the grid of a scene, which reaches a little beyond its box, and of bounds."""
    half = frame[3:6].max()
    step = np.float32(half * (1.0 + 2.0**-6) / (STEPS // 2))
    rounding = TIE + FOUR_ROUNDINGS * frame[6]
    height = HEIGHT_ROUNDINGS * ROUNDING * frame[6] / 8.0
    return np.array([-1.5 * STEPS * step] * 3 + [step, rounding, height], dtype=np.float32)


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
    """Return the rows of nodes and the reference of the root; pieces begin at row `first`."""
    four = _gathered(boxes, children)
    there, inner = four >= 0, children[:, 0] >= 0
    references = -1 - (children[:, 1] + first)
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


def _leaves(shape: F64, pair: npt.NDArray[np.bool_], frame: F64) -> F32:
    """Return the rows of pieces in single precision, (p, LEAF_ROW)."""
    corner, edge1, edge2 = shape[:, :3] - frame[:3], shape[:, 3:6], shape[:, 6:]
    normal = np.cross(edge1, edge2)
    area = np.linalg.norm(normal, axis=1)
    longest = np.linalg.norm(np.stack([edge1, edge2, edge2 - edge1]), axis=2).max(axis=0)
    # Zeros say nothing of where a ray is, and a slack of one over nothing lets double precision decide.
    flat = area > THIN * (frame[6] / 8.0) * longest
    area = np.where(flat, area, np.inf)[:, None]
    shares = np.cross(edge2, normal) / area**2, np.cross(normal, edge1) / area**2
    rows = np.zeros((len(shape), LEAF_ROW // 4, 4))
    for place, row in enumerate((normal / area, *shares)):
        rows[:, place, :3] = row
        rows[:, place, 3] = -(row * corner).sum(axis=1)
    rows[:, 3, 0] = np.where(flat, np.linalg.norm(np.stack(shares), axis=2).max(axis=0), 1.0)
    rows[:, 3, 1] = np.where(pair, 0.0, 1.0)
    return rows.astype(np.float32).reshape(-1, LEAF_ROW)
