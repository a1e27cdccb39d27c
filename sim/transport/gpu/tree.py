"""The tree as a card walks it: nodes of two boxes, leaves of a few triangles, in rows of sixteen bytes."""

from typing import NamedTuple

import numpy as np

from sim.transport.arrays import F32, F64, I32, I64, Tree
from sim.transport.tree_build import MARGIN_ROUNDINGS, ROUNDING
from sim.transport.tree_split import split_in_two

LEAF = 4
"""Most triangles of a leaf."""
NODE_ROW = 16
"""Numbers of a node: low and high corner of the first child's box and of the second's, and both children."""
LEAF_ROW = 12
"""Numbers of a triangle: corner about the scene's centre, two edges, slack of its edge test."""
COUNT_BITS = 6
"""A reference to a leaf is ``-(first << COUNT_BITS | count) - 1``."""


class CardTree(NamedTuple):
    """A tree of boxes, two to a node, over triangles.

    ``nodes`` (m * NODE_ROW,) and ``leaves`` (n * LEAF_ROW,): see there; single precision as in `Tree`, with the same
    bounds on its errors. ``roots`` (2,): references of the large triangles, which are tested first, and of the tree.
    ``triangle`` (n, 9), ``order``, ``rank`` (n,), ``frame`` (8,): as in `Tree`, in the order of ``leaves``.
    """

    nodes: F32
    leaves: F32
    roots: I32
    triangle: F64
    order: I32
    rank: I32
    frame: F64


def card_tree(tree: Tree, leaf: int = LEAF) -> CardTree:
    """Return the tree that a card walks over the triangles of one for the CPU.

    Parameters
    ----------
    tree : Tree
    leaf : int
        Most triangles of a leaf, 1 to 63.
    """
    triangle, order, large = _triangles(tree)
    corner, edge1, edge2 = triangle[:, :3], triangle[:, 3:6], triangle[:, 6:]
    corners = np.stack([corner, corner + edge1, corner + edge2], axis=1)
    around = np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1)
    around = np.ascontiguousarray(around[large:])
    items = np.arange(len(around))
    nodes, root = np.zeros(0, dtype=np.float32), -1
    if len(around):
        boxes, children = np.zeros((2 * len(around), 6)), np.zeros((2 * len(around), 3), dtype=np.int64)
        centres = 0.5 * (around[:, :3] + around[:, 3:])
        used = split_in_two(around, centres, items, boxes, children, leaf, 1)
        nodes, root = _nodes(boxes[:used], children[:used], tree.frame, large)
    own = np.concatenate([np.arange(large), large + items])
    order = order[own]
    return CardTree(
        nodes=nodes,
        leaves=_leaves(triangle[own], tree.frame),
        roots=np.array([-large - 1, root], dtype=np.int32),
        triangle=np.ascontiguousarray(triangle[own]),
        order=order,
        rank=np.argsort(order, kind="stable").astype(np.int32),
        frame=tree.frame,
    )


def _triangles(tree: Tree) -> tuple[F64, I32, int]:
    """Return corner and edges of each triangle in the tree's order (n, 9), rows in the scene, count of large ones."""
    halves = tree.piece[:, 9:].astype(np.int32)
    corner, edge1, edge2 = tree.piece[:, :3], tree.piece[:, 3:6], tree.piece[:, 6:9]
    across = np.concatenate([corner + edge1 + edge2, -edge1, -edge2], axis=1)
    both = np.stack([tree.piece[:, :9], across], axis=1)
    there = halves >= 0
    large = int(there[: int(tree.lanes[0, 0]).bit_count()].sum())
    return both[there], halves[there], large


def _nodes(boxes: F64, children: I64, frame: F64, first: int) -> tuple[F32, int]:
    """Return the rows of nodes and the reference of the root; triangles begin at row `first`."""
    margin = MARGIN_ROUNDINGS * ROUNDING * frame[6] / 8.0
    inner = children[:, 0] >= 0
    count = children[:, 2] - children[:, 1]
    references = np.where(inner, np.cumsum(inner) - 1, -((children[:, 1] + first << COUNT_BITS) + count) - 1)
    rows = np.zeros((int(inner.sum()), NODE_ROW), dtype=np.float32)
    for side in range(2):
        child = children[inner, 0] + side
        rows[:, 6 * side : 6 * side + 3] = boxes[child, :3] - frame[:3] - margin
        rows[:, 6 * side + 3 : 6 * side + 6] = boxes[child, 3:] - frame[:3] + margin
        rows[:, 12 + side] = references[child].astype(np.int32).view(np.float32)
    return rows.ravel(), int(references[0])


def _leaves(triangle: F64, frame: F64) -> F32:
    """Return the rows of triangles in single precision."""
    rows = np.zeros((len(triangle), LEAF_ROW), dtype=np.float32)
    rows[:, :3] = triangle[:, :3] - frame[:3]
    rows[:, 3:9] = triangle[:, 3:]
    longest = np.sqrt(np.maximum((triangle[:, 3:6] ** 2).sum(axis=1), (triangle[:, 6:] ** 2).sum(axis=1)))
    rows[:, 9] = longest / frame[7]
    return rows.ravel()
