"""Closest hit on the card; it decides as `sim.transport.tree_traverse` does, and so gives the same answers.

Single precision sifts, double precision decides: a triangle that is surely hit and surely nearer than any before waits,
and is computed in double precision at the end; any that single precision cannot rule out or put in order is at once.
"""

from typing import NamedTuple

import numpy as np

from sim.transport import tree_lanes, tree_traverse
from sim.transport.arrays import F32, F64, I32
from sim.transport.gpu.memory import four_floats, four_integers, scratch
from sim.transport.gpu.target import card_helper, for_card, stands_in_for
from sim.transport.gpu.tree import COUNT_BITS, LEAF_ROW, NODE_ROW, CardTree
from sim.transport.tree_lanes import FAR_OFF, LEAST_SIZE, NOTHING, ONE, Ray
from sim.transport.tree_traverse import EDGE, FOUR_ROUNDINGS, MISS, NEAR, TIE

DEPTH = 96
"""References that may wait: splits by area end at sixty levels, and halving the rest adds thirty at most."""
DONE = -(2**31)
"""Reference at the bottom of the stack."""
NOT_HIT = np.float32(-1.0)

entry_shift = for_card(tree_traverse.entry_shift)
single_ray = for_card(tree_lanes.single_ray)


class CardStack(NamedTuple):
    """Scratch of one walk: what is still to be visited, and at which distance, (DEPTH,) each."""

    reference: I32
    distance: F32


_references, _distances = scratch("int32", DEPTH), scratch("float32", DEPTH)


@card_helper
def card_stack() -> CardStack:
    """Return scratch for one walk after the other."""
    return CardStack(_references(), _distances())


@card_helper
def open_pair(tree: CardTree, node: int, ray: Ray, limit: np.float32, stack: CardStack, top: int) -> tuple[int, int]:
    """Return how many children of a node a ray enters and the nearer of them; put the other onto the stack at `top`."""
    at = node * NODE_ROW
    x0, y0, z0, x1 = four_floats(tree.nodes, at)
    y1, z1, x2, y2 = four_floats(tree.nodes, at + 4)
    z2, x3, y3, z3 = four_floats(tree.nodes, at + 8)
    left, right, _, _ = four_integers(tree.nodes, at + 12)
    x0, x1, x2, x3 = x0 - ray.ox, x1 - ray.ox, x2 - ray.ox, x3 - ray.ox
    y0, y1, y2, y3 = y0 - ray.oy, y1 - ray.oy, y2 - ray.oy, y3 - ray.oy
    z0, z1, z2, z3 = z0 - ray.oz, z1 - ray.oz, z2 - ray.oz, z3 - ray.oz
    if ray.dx < NOTHING:
        x0, x1, x2, x3 = x1, x0, x3, x2
    if ray.dy < NOTHING:
        y0, y1, y2, y3 = y1, y0, y3, y2
    if ray.dz < NOTHING:
        z0, z1, z2, z3 = z1, z0, z3, z2
    near = max(max(x0 * ray.nearx, y0 * ray.neary), max(z0 * ray.nearz, NOTHING))
    far = min(min(x1 * ray.farx, y1 * ray.fary), min(z1 * ray.farz, limit))
    other_near = max(max(x2 * ray.nearx, y2 * ray.neary), max(z2 * ray.nearz, NOTHING))
    other_far = min(min(x3 * ray.farx, y3 * ray.fary), min(z3 * ray.farz, limit))
    first, second = near <= far, other_near <= other_far
    if first and second:
        if other_near < near:
            left, right, other_near = right, left, near
        stack.reference[top], stack.distance[top] = right, other_near
        return 2, left
    if first:
        return 1, left
    return (1, right) if second else (0, right)


@card_helper
def test_triangle(tree: CardTree, row: int, ray: Ray, per_slack: np.float32) -> tuple[np.float32, np.float32, bool]:
    """Return the least and the greatest distance to a triangle, and whether its edges are cleared.

    Where it is surely not hit the greatest is negative. `per_slack` is one over the slack of a unit edge.
    """
    at = row * LEAF_ROW
    x, y, z, e1x = four_floats(tree.leaves, at)
    e1y, e1z, e2x, e2y = four_floats(tree.leaves, at + 4)
    e2z, slack, _, _ = four_floats(tree.leaves, at + 8)
    dx, dy, dz = ray.dx, ray.dy, ray.dz
    px, py, pz = dy * e2z - dz * e2y, dz * e2x - dx * e2z, dx * e2y - dy * e2x
    signed = (e1x * px + e1y * py) + e1z * pz
    sign = -ONE if signed < NOTHING else ONE
    size = signed * sign
    sx, sy, sz = ray.ox - x, ray.oy - y, ray.oz - z
    u = ((sx * px + sy * py) + sz * pz) * sign
    qx, qy, qz = sy * e1z - sz * e1y, sz * e1x - sx * e1z, sx * e1y - sy * e1x
    v = ((dx * qx + dy * qy) + dz * qz) * sign
    inner = min(min(u, v), (size - u) - v)
    if inner < -slack:
        return NOT_HIT, NOT_HIT, False
    if size < LEAST_SIZE:
        return -FAR_OFF, FAR_OFF, False
    share = ONE / size
    t = ((e2x * qx + e2y * qy) + e2z * qz) * sign * share
    off = (slack * slack) * per_slack * share
    return t - off, t + off, inner >= slack


@card_helper
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


@card_helper
def nearer(tree: CardTree, row: int, o: F64, d: F64, far: float, found: int) -> tuple[float, int]:
    """Return distance and triangle of the nearest hit after looking at one more triangle in double precision."""
    t = _triangle(tree.triangle, row, o, d, far + TIE)
    if t < far - TIE or (t < far + TIE and (tree.order[row] > found if found != MISS else t < far)):
        return min(far, t), tree.order[row]
    return far, found


@card_helper
def both(tree: CardTree, waiting: int, row: int, o: F64, d: F64, far: float, found: int) -> tuple[float, int]:
    """Return what `nearer` does for two triangles one after the other; the first may be none."""
    if waiting != MISS:
        far, found = nearer(tree, waiting, o, d, far, found)
    return nearer(tree, row, o, d, far, found)


@card_helper
def follow(stack: CardStack, top: int, limit: np.float32) -> tuple[int, int]:
    """Return the stack's new top and the reference there, the uppermost that lies within a limit."""
    top -= 1
    while stack.distance[top] > limit:
        top -= 1
    return top, int(stack.reference[top])


@stands_in_for(tree_traverse.next_hit)
@stands_in_for(tree_traverse.closest_hit)
def card_hit(tree: CardTree, o: F64, d: F64, far: float, stack: CardStack, leaving: int) -> tuple[float, int]:
    """Return what `sim.transport.tree_traverse.closest_hit` does, with its parameters."""
    shift = entry_shift(tree.frame, o, d)
    if shift >= far:
        return far, MISS
    ray = single_ray(tree.frame, o, d, shift)
    widest, per_slack = tree.frame[6], np.float32(tree.frame[7])
    pad = np.float32(TIE + FOUR_ROUNDINGS * widest)
    rest = min(far - shift, widest)
    least, limit = np.float32(rest) - pad, np.float32(rest) + pad
    found, waiting = MISS, MISS
    skipped = int(tree.rank[leaving]) if leaving >= 0 else MISS
    stack.reference[0], stack.distance[0] = DONE, -FAR_OFF
    stack.reference[1], stack.distance[1] = tree.roots[1], NOTHING
    top, reference = 2, int(tree.roots[0])
    while reference != DONE:
        # Threads that share an instruction go down together, and look at triangles together.
        while reference >= 0:
            count, reference = open_pair(tree, reference, ray, limit, stack, top)
            if count == 2:
                top += 1
            elif count == 0:
                top, reference = follow(stack, top, limit)
        if reference == DONE:
            break
        first = -(reference + 1) >> COUNT_BITS
        for row in range(first, first + (-(reference + 1) & (1 << COUNT_BITS) - 1)):
            low, high, clears = test_triangle(tree, row, ray, per_slack)
            if high < NOTHING or low > limit or row == skipped:
                continue
            if clears and low > pad and high < least:
                waiting, least, limit = row, low - pad, high + pad
                continue
            far, found = both(tree, waiting, row, o, d, far, found)
            waiting = MISS
            least = np.float32(min(far - shift, widest))
            least, limit = least - pad, least + pad
        top, reference = follow(stack, top, limit)
    if waiting != MISS:
        far, found = nearer(tree, waiting, o, d, far, found)
    return far, found
