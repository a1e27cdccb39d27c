"""Builder of the tree of boxes by the binned surface-area heuristic.

Reference: I. Wald, "On fast construction of SAH-based bounding volume hierarchies", IEEE Symposium on Interactive Ray
Tracing, 2007.
"""

import numpy as np

from sim.transport.arrays import F64, I64, Tree
from sim.transport.jit import kernel, routine

BINS = 16
LEAF_SIZE = 4
"""Most triangles of a leaf; a leaf's count takes four bits of its code."""
DEPTH_LIMIT = 60
"""Where halves are taken by count, so that a stack of 128 always suffices."""


@routine
def _box(low: F64, high: F64, items: I64, first: int, last: int) -> tuple[F64, F64]:
    lo = np.full(3, np.inf)
    hi = np.full(3, -np.inf)
    for row in range(first, last):
        for axis in range(3):
            lo[axis] = min(lo[axis], low[items[row], axis])
            hi[axis] = max(hi[axis], high[items[row], axis])
    return lo, hi


@routine
def _half_area(lo: F64, hi: F64) -> float:
    size = hi - lo
    if size[0] < 0.0:
        return 0.0
    return size[0] * size[1] + size[1] * size[2] + size[2] * size[0]


@routine
def _best_split(low: F64, high: F64, centre: F64, items: I64, first: int, last: int) -> tuple[int, float, float]:
    """Return axis, position and cost of the best split, in triangle tests times half area; axis -1 without one."""
    best_axis, best_at, best_cost = -1, 0.0, np.inf
    for axis in range(3):
        start, stop = np.inf, -np.inf
        for row in range(first, last):
            start = min(start, centre[items[row], axis])
            stop = max(stop, centre[items[row], axis])
        if stop <= start:
            continue
        counts = np.zeros(BINS, dtype=np.int64)
        lows = np.full((BINS, 3), np.inf)
        highs = np.full((BINS, 3), -np.inf)
        scale = BINS / (stop - start)
        for row in range(first, last):
            item = items[row]
            slot = min(BINS - 1, int((centre[item, axis] - start) * scale))
            counts[slot] += 1
            for k in range(3):
                lows[slot, k] = min(lows[slot, k], low[item, k])
                highs[slot, k] = max(highs[slot, k], high[item, k])
        right = np.zeros(BINS)
        lo, hi, count = np.full(3, np.inf), np.full(3, -np.inf), 0
        for slot in range(BINS - 1, 0, -1):
            lo, hi = np.minimum(lo, lows[slot]), np.maximum(hi, highs[slot])
            count += counts[slot]
            right[slot] = count * _half_area(lo, hi) if count > 0 else np.inf
        lo, hi, count = np.full(3, np.inf), np.full(3, -np.inf), 0
        for slot in range(BINS - 1):
            lo, hi = np.minimum(lo, lows[slot]), np.maximum(hi, highs[slot])
            count += counts[slot]
            cost = (count * _half_area(lo, hi) if count > 0 else np.inf) + right[slot + 1]
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
    stack[0] = np.array([0, len(items), -1, 0])
    top, used = 1, 0
    while top > 0:
        top -= 1
        first, last, parent, depth = stack[top, 0], stack[top, 1], stack[top, 2], stack[top, 3]
        count = last - first
        lo, hi = _box(low, high, items, first, last)
        middle = first
        if count > 1:
            axis, at, cost = _best_split(low, high, centre, items, first, last)
            whole = _half_area(lo, hi)
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
            bounds[row, side, :3] = lo
            bounds[row, side, 3:] = hi
        elif leaf:
            # A root that is a leaf still needs a node above it.
            child[0, 0] = code
            bounds[0, 0, :3] = lo
            bounds[0, 0, 3:] = hi
            used = 1
        if not leaf:
            stack[top] = np.array([middle, last, used * 2 + 1, depth + 1])
            stack[top + 1] = np.array([first, middle, used * 2, depth + 1])
            top += 2
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
