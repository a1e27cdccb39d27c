"""Builder of the tree: two-way splits by the binned surface-area heuristic, joined to nodes of sixteen afterwards.

Reference: I. Wald, "On fast construction of SAH-based bounding volume hierarchies", IEEE Symposium on Interactive Ray
Tracing, 2007.
"""

import numpy as np

from sim.transport.arrays import F64, I64
from sim.transport.jit import helper, kernel, routine

BINS = 64
GROUP = 16
"""Sets of triangles of this size are not split; what joins them to leaves is `sim.transport.tree_build`."""
DEPTH_LIMIT = 60
"""Where halves are taken by count, so that the stack of a traversal always suffices."""


@helper
def _empty(box: F64) -> None:
    """Set a box, (6,) low and high corner, to one that holds nothing."""
    for axis in range(3):
        box[axis], box[3 + axis] = np.inf, -np.inf


@helper
def _widen(box: F64, other: F64) -> None:
    """Let a box hold another."""
    for axis in range(3):
        box[axis] = min(box[axis], other[axis])
        box[3 + axis] = max(box[3 + axis], other[3 + axis])


@helper
def half_area(box: F64) -> float:
    """Return half the surface of a box, (6,) low and high corner."""
    if box[3] < box[0]:
        return 0.0
    x, y, z = box[3] - box[0], box[4] - box[1], box[5] - box[2]
    return x * y + y * z + z * x


@routine
def _best_split(
    around: F64, centre: F64, items: I64, first: int, last: int, full: int, bins: F64, counts: I64, right: F64
) -> tuple[int, float]:
    """Return axis and position of the best split; axis -1 without one.

    A side costs its area times the leaves of `full` pieces that it fills: a leaf takes as long full as not.
    `bins` (BINS + 1, 6), `counts` (BINS,) and `right` (BINS,) are scratch.
    """
    best_axis, best_at, best_cost = -1, 0.0, np.inf
    box = bins[BINS]
    for axis in range(3):
        start, stop = np.inf, -np.inf
        for row in range(first, last):
            start = min(start, centre[items[row], axis])
            stop = max(stop, centre[items[row], axis])
        if stop <= start:
            continue
        for slot in range(BINS):
            counts[slot] = 0
            _empty(bins[slot])
        scale = BINS / (stop - start)
        for row in range(first, last):
            slot = min(BINS - 1, int((centre[items[row], axis] - start) * scale))
            counts[slot] += 1
            _widen(bins[slot], around[items[row]])
        _empty(box)
        count = 0
        for slot in range(BINS - 1, 0, -1):
            _widen(box, bins[slot])
            count += counts[slot]
            right[slot] = (count + full - 1) // full * half_area(box) if count > 0 else np.inf
        _empty(box)
        count = 0
        for slot in range(BINS - 1):
            _widen(box, bins[slot])
            count += counts[slot]
            cost = ((count + full - 1) // full * half_area(box) if count > 0 else np.inf) + right[slot + 1]
            if cost < best_cost:
                best_axis, best_at, best_cost = axis, start + (slot + 1) / scale, cost
    return best_axis, best_at


@routine
def _partition(centre: F64, items: I64, first: int, last: int, axis: int, at: float) -> int:
    middle = first
    for row in range(first, last):
        if centre[items[row], axis] < at:
            items[row], items[middle] = items[middle], items[row]
            middle += 1
    return middle


@kernel
def split_in_two(
    around: F64, centre: F64, items: I64, boxes: F64, children: I64, group: int = GROUP, full: int = 1
) -> int:
    """Part triangles by two again and again; return the count of nodes.

    Parameters
    ----------
    around : (n, 6) float
        Low and high corner of each triangle's box.
    centre : (n, 3) float
        Centres of these boxes.
    items : (n,) int
        Rows of triangles; changed in place so that those of a node lie together.
    boxes : (2 n, 6) float
        Filled with the box of each node. Children come after their parents; the first node is the root.
    children : (2 n, 3) int
        Filled with the row of the first of two children that follow each other, or -1, and the node's run of `items`.
    group : int
        Sets of triangles of this size are not split.
    full : int
        Triangles that a leaf takes at once.
    """
    depths = np.zeros(len(boxes), dtype=np.int8)
    bins, counts, right = np.zeros((BINS + 1, 6)), np.zeros(BINS, dtype=np.int64), np.zeros(BINS)
    children[0, 1], children[0, 2] = 0, len(items)
    node, used = 0, 1
    while node < used:
        first, last = children[node, 1], children[node, 2]
        count = last - first
        _empty(boxes[node])
        for row in range(first, last):
            _widen(boxes[node], around[items[row]])
        children[node, 0] = -1
        if count > group:
            middle = first
            if depths[node] < DEPTH_LIMIT:
                axis, at = _best_split(around, centre, items, first, last, full, bins, counts, right)
                if axis >= 0:
                    middle = _partition(centre, items, first, last, axis, at)
            if middle in (first, last):
                middle = first + count // 2
            children[node, 0] = used
            for side in range(2):
                children[used + side, 1] = middle if side else first
                children[used + side, 2] = last if side else middle
                depths[used + side] = depths[node] + 1
            used += 2
        node += 1
    return used
