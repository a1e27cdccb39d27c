"""Builder of the tree of boxes by the binned surface-area heuristic.

Reference: I. Wald, "On fast construction of SAH-based bounding volume hierarchies", IEEE Symposium on Interactive Ray
Tracing, 2007.
"""

import numpy as np

from sim.transport.arrays import F64, I64, Tree
from sim.transport.jit import helper, kernel, routine
from sim.transport.vectors import copy

BINS = 16
LEAF_SIZE = 4
"""Most triangles of a leaf; a leaf's count takes four bits of its code."""
DEPTH_LIMIT = 60
"""Where halves are taken by count, so that a stack of 128 always suffices."""


@helper
def _empty(box: F64) -> None:
    """Set a box, (6,) low and high corner, to one that holds nothing."""
    for axis in range(3):
        box[axis], box[3 + axis] = np.inf, -np.inf


@helper
def _widen(box: F64, low: F64, high: F64) -> None:
    """Let a box hold another, given by its corners."""
    for axis in range(3):
        box[axis] = min(box[axis], low[axis])
        box[3 + axis] = max(box[3 + axis], high[axis])


@helper
def _half_area(box: F64) -> float:
    if box[3] < box[0]:
        return 0.0
    x, y, z = box[3] - box[0], box[4] - box[1], box[5] - box[2]
    return x * y + y * z + z * x


@routine
def _best_split(
    low: F64, high: F64, centre: F64, items: I64, first: int, last: int, bins: F64, counts: I64, right: F64
) -> tuple[int, float, float]:
    """Return axis, position and cost of the best split, in triangle tests times half area; axis -1 without one.

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
            _widen(bins[slot], low[items[row]], high[items[row]])
        _empty(box)
        count = 0
        for slot in range(BINS - 1, 0, -1):
            _widen(box, bins[slot, :3], bins[slot, 3:])
            count += counts[slot]
            right[slot] = count * _half_area(box) if count > 0 else np.inf
        _empty(box)
        count = 0
        for slot in range(BINS - 1):
            _widen(box, bins[slot, :3], bins[slot, 3:])
            count += counts[slot]
            cost = (count * _half_area(box) if count > 0 else np.inf) + right[slot + 1]
            if cost < best_cost:
                best_axis, best_at, best_cost = axis, start + (slot + 1) / scale, cost
    return best_axis, best_at, best_cost


@routine
def _partition(centre: F64, items: I64, first: int, last: int, axis: int, at: float) -> int:
    middle = first
    for row in range(first, last):
        if centre[items[row], axis] < at:
            items[row], items[middle] = items[middle], items[row]
            middle += 1
    return middle


@kernel
def _build(low: F64, high: F64, bounds: F64, child: I64, items: I64) -> int:
    """Fill `bounds`, `child` and `items`; return the count of nodes."""
    centre = 0.5 * (low + high)
    stack = np.zeros((128, 4), dtype=np.int64)
    bins, counts, right, box = np.zeros((BINS + 1, 6)), np.zeros(BINS, dtype=np.int64), np.zeros(BINS), np.zeros(6)
    stack[0, 1], stack[0, 2] = len(items), -1
    top, used = 1, 0
    while top > 0:
        top -= 1
        first, last, parent, depth = stack[top, 0], stack[top, 1], stack[top, 2], stack[top, 3]
        count = last - first
        _empty(box)
        for row in range(first, last):
            _widen(box, low[items[row]], high[items[row]])
        middle = first
        if count > 1:
            axis, at, cost = _best_split(low, high, centre, items, first, last, bins, counts, right)
            whole = _half_area(box)
            if axis >= 0 and depth < DEPTH_LIMIT and (count > LEAF_SIZE or cost + whole < count * whole):
                middle = _partition(centre, items, first, last, axis, at)
            elif count > LEAF_SIZE:
                middle = first + count // 2
            if count > LEAF_SIZE and middle in (first, last):
                middle = first + count // 2
        leaf = middle in (first, last)
        code = -(first * 16 + count) - 1 if leaf else used
        if parent >= 0:
            row, side = parent // 2, parent % 2
            child[row, side] = code
            copy(box, bounds[row, side])
        elif leaf:
            # A root that is a leaf still needs a node above it.
            child[0, 0] = code
            copy(box, bounds[0, 0])
            used = 1
        if not leaf:
            stack[top, 0], stack[top, 1], stack[top, 2], stack[top, 3] = middle, last, used * 2 + 1, depth + 1
            top += 1
            stack[top, 0], stack[top, 1], stack[top, 2], stack[top, 3] = first, middle, used * 2, depth + 1
            top += 1
            used += 1
    return used


def build_tree(corners: F64) -> Tree:
    """Return the tree over triangles.

    Parameters
    ----------
    corners : (n, 3 corners, 3) float [m]
        At least one triangle.
    """
    count = len(corners)
    low, high = np.ascontiguousarray(corners.min(axis=1)), np.ascontiguousarray(corners.max(axis=1))
    # Boxes are widened by a hair, so that rounding never hides a triangle that lies in a face of its box.
    margin = 1e-12 * max(1.0, float(np.abs(corners).max()))
    items = np.arange(count)
    bounds = np.zeros((max(count, 1), 2, 6))
    bounds[:, :, :3] = np.inf
    bounds[:, :, 3:] = -np.inf
    child = np.full((max(count, 1), 2), -1, dtype=np.int64)
    used = _build(low - margin, high + margin, bounds, child, items)
    ordered = corners[items]
    triangle = np.concatenate([ordered[:, 0], ordered[:, 1] - ordered[:, 0], ordered[:, 2] - ordered[:, 0]], axis=1)
    return Tree(bounds[:used].copy(), child[:used].copy(), np.ascontiguousarray(triangle), items)
