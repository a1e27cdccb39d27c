"""Closest hit of a ray with the tree; triangles by Möller and Trumbore (J. Graph. Tools 2(1), 1997).

Boxes and triangles are sifted in single precision (`sim.transport.tree_lanes`). What decides is computed in double
precision: the one triangle left at the end, and before that every triangle that single precision cannot rule out or
put in order. So distances are good to the last digits of double precision.
"""

import numpy as np

from sim.transport.arrays import F64, I64, Stack, Tree
from sim.transport.jit import helper, kernel, maker, routine
from sim.transport.tree_lanes import first_of, open_node, single_ray, test_leaf

MISS = -1
NEAR = 1e-9
"""Hits nearer than this [m] are the surface that the ray leaves."""
TIE = 1e-10
"""Hits nearer to each other than this [m] are of surfaces that touch, such as a lamp let into a ceiling."""
EDGE = 1e-12
"""Slack of the edge test: neighbours overlap by rounding, so that no ray slips between them."""
_STACK = 2048
LANES = 16
FOUR_ROUNDINGS = 2.0**-22


@maker
def new_stack() -> Stack:
    """Return scratch for walks through a tree, one after the other."""
    return Stack(
        np.zeros(_STACK, dtype=np.int32),
        np.zeros(_STACK, dtype=np.float32),
        np.zeros(16, dtype=np.float32),
        np.zeros(16, dtype=np.float32),
    )


@helper
def _triangle(triangle: F64, row: int, o: F64, d: F64, far: float) -> float:
    """Return the distance to a triangle if it is hit before `far`, else `far`."""
    e1x, e1y, e1z = triangle[row, 3], triangle[row, 4], triangle[row, 5]
    e2x, e2y, e2z = triangle[row, 6], triangle[row, 7], triangle[row, 8]
    px, py, pz = d[1] * e2z - d[2] * e2y, d[2] * e2x - d[0] * e2z, d[0] * e2y - d[1] * e2x
    determinant = e1x * px + e1y * py + e1z * pz
    if determinant == 0.0:
        return far
    inverse = 1.0 / determinant
    sx, sy, sz = o[0] - triangle[row, 0], o[1] - triangle[row, 1], o[2] - triangle[row, 2]
    u = (sx * px + sy * py + sz * pz) * inverse
    if u < -EDGE or u > 1.0 + EDGE:
        return far
    qx, qy, qz = sy * e1z - sz * e1y, sz * e1x - sx * e1z, sx * e1y - sy * e1x
    v = (d[0] * qx + d[1] * qy + d[2] * qz) * inverse
    if v < -EDGE or u + v > 1.0 + EDGE:
        return far
    t = (e2x * qx + e2y * qy + e2z * qz) * inverse
    return t if NEAR < t < far else far


@helper
def nearer(tree: Tree, row: int, o: F64, d: F64, far: float, found: int) -> tuple[float, int]:
    """Return distance and triangle of the nearest hit after looking at one more triangle in double precision."""
    t = _triangle(tree.triangle, row, o, d, far + TIE)
    if t < far - TIE or (t < far + TIE and (tree.order[row] > found if found != MISS else t < far)):
        return min(far, t), tree.order[row]
    return far, found


@routine
def both(tree: Tree, waiting: int, row: int, o: F64, d: F64, far: float, found: int) -> tuple[float, int]:
    """Return what `nearer` does for two triangles one after the other; the first may be none."""
    if waiting != MISS:
        far, found = nearer(tree, waiting, o, d, far, found)
    return nearer(tree, row, o, d, far, found)


@routine
def _entry(frame: F64, o: F64, d: F64) -> float:
    """Return the distance at which a ray from outside enters the box around all, or infinity."""
    near, far = 0.0, np.inf
    for axis in range(3):
        low, high = frame[axis] - frame[3 + axis] - o[axis], frame[axis] + frame[3 + axis] - o[axis]
        if d[axis] == 0.0:
            if low > 0.0 or high < 0.0:
                return np.inf
            continue
        near = max(near, min(low / d[axis], high / d[axis]))
        far = min(far, max(low / d[axis], high / d[axis]))
    return near if near <= far * (1.0 + 1e-12) else np.inf


@helper
def entry_shift(frame: F64, o: F64, d: F64) -> float:
    """Return how far along a ray its way through the scene begins; zero from inside."""
    for axis in range(3):
        if abs(o[axis] - frame[axis]) > frame[3 + axis]:
            return _entry(frame, o, d)
    return 0.0


@helper
def closest_hit(tree: Tree, o: F64, d: F64, far: float, stack: Stack, leaving: int) -> tuple[float, int]:
    """Return distance and triangle (row in the scene) of the first hit, or (far, MISS).

    Where surfaces lie in one plane the one of the later row is hit, so that a lamp covers the wall it is flush with and
    no rounding decides.

    Parameters
    ----------
    tree : Tree
    o, d : (3,) float
        Origin [m] and unit direction.
    far : float
        Hits at or beyond this distance [m] do not count.
    stack : Stack
        Scratch, see `new_stack`.
    leaving : int
        Triangle (row in the scene) on which the origin lies, which spares a look at it; MISS if that is not known.
    """
    shift = entry_shift(tree.frame, o, d)
    if shift >= far:
        return far, MISS
    ray = single_ray(tree.frame, o, d, shift)
    widest, per_slack = tree.frame[6], np.float32(tree.frame[7])
    pad = np.float32(TIE + FOUR_ROUNDINGS * widest)
    rest = min(far - shift, widest)
    # The nearest hit so far lies between `least` and `limit`; it may be one seen in single precision alone, `waiting`.
    least, limit = np.float32(rest) - pad, np.float32(rest) + pad
    found, waiting = MISS, MISS
    skipped = tree.rank[leaving] if leaving >= 0 else -LANES
    top = min(1, len(tree.child))
    stack.reference[0], stack.distance[0] = 0, np.float32(0.0)
    reference = -1
    while True:
        if reference >= 0:
            count, nearest = open_node(tree, reference, ray, limit, stack, top)
            if count > 0:
                top += count - 1
                reference = nearest
                continue
        else:
            leaf = -reference - 1
            may, clears = test_leaf(tree, leaf, ray, limit, per_slack, stack)
            own = skipped - tree.first[leaf]
            may &= ~(1 << own if 0 <= own < LANES else 0)
            while may != 0:
                lane = first_of(may)
                may &= may - 1
                low, high = stack.low[lane], stack.high[lane]
                if low > limit:
                    continue
                row = tree.first[leaf] + lane
                if clears >> lane & 1 and low > pad and high < least:
                    waiting, least, limit = row, low - pad, high + pad
                    continue
                far, found = both(tree, waiting, row, o, d, far, found)
                waiting = MISS
                least = np.float32(min(far - shift, widest))
                least, limit = least - pad, least + pad
        searching = True
        while searching and top > 0:
            top -= 1
            searching = stack.distance[top] > limit
        if searching:
            break
        reference = stack.reference[top]
    if waiting != MISS:
        far, found = nearer(tree, waiting, o, d, far, found)
    return far, found


@routine
def next_hit(tree: Tree, o: F64, d: F64, far: float, stack: Stack, leaving: int) -> tuple[float, int]:
    """Return what `closest_hit` returns, by a call instead of a copy of its code: less to compile."""
    return closest_hit(tree, o, d, far, stack, leaving)


@kernel
def closest_hits(tree: Tree, origins: F64, directions: F64, distance: F64, triangle: I64) -> None:
    """Fill distance and triangle of the first hit of many rays (infinite and MISS where there is none)."""
    stack = new_stack()
    for row in range(len(origins)):
        distance[row], triangle[row] = next_hit(tree, origins[row], directions[row], np.inf, stack, MISS)


@kernel
def next_hits(tree: Tree, origins: F64, directions: F64, leaving: I64, distance: F64, triangle: I64) -> None:
    """Do what `closest_hits` does for rays that start on triangles."""
    stack = new_stack()
    for row in range(len(origins)):
        distance[row], triangle[row] = closest_hit(tree, origins[row], directions[row], np.inf, stack, leaving[row])
