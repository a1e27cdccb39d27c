"""Closest hit of a ray with the tree: boxes by slabs, triangles by Möller and Trumbore (J. Graph. Tools 2(1), 1997)."""

import numpy as np

from sim.transport.arrays import F64, I64, Tree
from sim.transport.jit import helper, kernel, routine

MISS = -1
NEAR = 1e-9
"""Hits nearer than this [m] are the surface that the ray leaves."""
TIE = 1e-10
"""Hits nearer to each other than this [m] are of surfaces that touch, such as a lamp let into a ceiling."""
_EDGE = 1e-12
"""Slack of the edge test: neighbours overlap by rounding, so that no ray slips between them."""


@helper
def _slab(bounds: F64, node: int, side: int, o: F64, inverse: tuple[float, float, float], far: float) -> float:
    """Return the distance at which a ray enters a child's box, or infinity."""
    near = NEAR
    for axis in range(3):
        t1 = (bounds[node, side, axis] - o[axis]) * inverse[axis]
        t2 = (bounds[node, side, 3 + axis] - o[axis]) * inverse[axis]
        near = max(near, min(t1, t2))
        far = min(far, max(t1, t2))
    return near if near <= far else np.inf


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
    if u < -_EDGE or u > 1.0 + _EDGE:
        return far
    qx, qy, qz = sy * e1z - sz * e1y, sz * e1x - sx * e1z, sx * e1y - sy * e1x
    v = (d[0] * qx + d[1] * qy + d[2] * qz) * inverse
    if v < -_EDGE or u + v > 1.0 + _EDGE:
        return far
    t = (e2x * qx + e2y * qy + e2z * qz) * inverse
    return t if NEAR < t < far else far


@routine
def closest_hit(tree: Tree, o: F64, d: F64, far: float, stack: I64) -> tuple[float, int]:
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
    stack : (128,) int
        Scratch.
    """
    inverse0 = 1.0 / d[0] if d[0] != 0.0 else 1e300
    inverse1 = 1.0 / d[1] if d[1] != 0.0 else 1e300
    inverse2 = 1.0 / d[2] if d[2] != 0.0 else 1e300
    inverse = (inverse0, inverse1, inverse2)
    found = MISS
    node, top = 0, 0
    while True:
        t0 = _slab(tree.bounds, node, 0, o, inverse, far + TIE)
        t1 = _slab(tree.bounds, node, 1, o, inverse, far + TIE)
        first = 0 if t0 <= t1 else 1
        next_node = -1
        for turn in range(2):
            side = first if turn == 0 else 1 - first
            if (t0 if side == 0 else t1) >= far + TIE:
                continue
            code = tree.child[node, side]
            if code >= 0:
                if next_node < 0:
                    next_node = code
                else:
                    stack[top] = code
                    top += 1
                continue
            start, count = (-(code + 1)) >> 4, (-(code + 1)) & 15
            for row in range(start, start + count):
                t = _triangle(tree.triangle, row, o, d, far + TIE)
                if t < far - TIE or (t < far + TIE and (tree.order[row] > found if found != MISS else t < far)):
                    far = min(far, t)
                    found = tree.order[row]
        if next_node >= 0:
            node = next_node
        elif top > 0:
            top -= 1
            node = stack[top]
        else:
            return far, found


@kernel
def closest_hits(tree: Tree, origins: F64, directions: F64, distance: F64, triangle: I64) -> None:
    """Fill distance and triangle of the first hit of many rays (infinite and MISS where there is none)."""
    stack = np.zeros(128, dtype=np.int64)
    for row in range(len(origins)):
        distance[row], triangle[row] = closest_hit(tree, origins[row], directions[row], np.inf, stack)
