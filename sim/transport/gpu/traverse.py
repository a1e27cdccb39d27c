"""Closest hit on the card; it decides as `sim.transport.tree_traverse` does, and so gives the same answers.

Single precision sifts, double precision decides: a triangle that is surely hit and surely nearer than any before waits
and is computed in double precision at the end. Any that single precision cannot rule out or put in order waits with it.
"""

from typing import NamedTuple

import numpy as np

from sim.transport import tree_traverse
from sim.transport.arrays import F64, I32
from sim.transport.gpu.memory import (
    bits_of,
    float_of,
    four_floats,
    four_integers,
    group_here,
    inverse,
    kept_float,
    ones,
    permute_bytes,
    scratch,
    store_two,
    two_floats,
    two_integers,
    vote,
)
from sim.transport.gpu.target import card_helper, for_card, stands_in_for
from sim.transport.gpu.tree import COUNT_BITS, DONE, LEAF_ROW, MOST_LARGE, NODE_ROW, TRIANGLE_ROW, CardTree
from sim.transport.tree_traverse import EDGE, MISS, NEAR, TIE

DEPTH = 3 * 92
"""References that may wait: splits by area end at sixty levels, halving the rest adds thirty at most, and a node leaves
three behind, of one level or more."""
BOTTOM = np.int32(DONE)
UNDECIDED = 16
"""Triangles that may wait for double precision."""
NOTHING, ONE = np.float32(0.0), np.float32(1.0)
LEAST_SLOPE = np.float32(1e-15)
OFFSET = np.int32(0x47000000)
"""In single precision 2^15, and 2^15 + n with the two bytes of n in its middle."""
LOW, HIGH = np.int32(0x7104), np.int32(0x7324)
"""What picks these middle bytes from the lower or the upper half of a word, and the others from OFFSET."""
OTHER = np.int32(0x7104 ^ 0x7324)
LANE = np.int32(3)
NO_KEY = np.int32(2**31 - 1)
COUNT_MASK = (1 << COUNT_BITS) - 1
"""A reference that is so much less is that to the rest of a leaf, without its first triangle."""

entry_shift = for_card(tree_traverse.entry_shift)


class CardStack(NamedTuple):
    """Scratch of one walk.

    ``waiting`` (2 * DEPTH,): references still to be visited, each with the distance to its box as `open_four` tells it.
    ``undecided`` (UNDECIDED + MOST_LARGE,): triangles that double precision is to decide on.
    """

    waiting: I32
    undecided: I32


class Sure(NamedTuple):
    """What single precision knows of the nearest hit.

    It lies between ``least`` and ``limit``; ``best`` is its triangle, unless it is one of ``unsure`` undecided ones.
    ``skipped`` is the triangle that the ray leaves, ``pad`` and ``rounding`` bound errors of distances.
    """

    least: np.float32
    limit: np.float32
    best: np.int32
    unsure: np.int32
    skipped: np.int32
    pad: np.float32
    rounding: np.float32


class CardRay(NamedTuple):
    """A ray about the scene's centre, in single precision.

    Origin, direction; distance along it as a multiple of the grid's number and an offset; LOW or HIGH for near planes.
    """

    ox: np.float32
    oy: np.float32
    oz: np.float32
    dx: np.float32
    dy: np.float32
    dz: np.float32
    ax: np.float32
    ay: np.float32
    az: np.float32
    bx: np.float32
    by: np.float32
    bz: np.float32
    nearx: np.int32
    neary: np.int32
    nearz: np.int32


_waiting, _undecided = scratch("int32", 2 * DEPTH), scratch("int32", UNDECIDED + MOST_LARGE)


@card_helper
def card_stack() -> CardStack:
    """Return scratch for one walk after the other."""
    return CardStack(_waiting(), _undecided())


@card_helper
def _inverse(slope: np.float32) -> np.float32:
    size = max(abs(slope), LEAST_SLOPE)
    return -inverse(size) if slope < NOTHING else inverse(size)


@card_helper
def card_ray(tree: CardTree, o: F64, d: F64, shift: float) -> CardRay:
    """Return a ray in single precision that starts a distance `shift` [m] along it."""
    ox = np.float32(o[0] + shift * d[0] - tree.frame[0])
    oy = np.float32(o[1] + shift * d[1] - tree.frame[1])
    oz = np.float32(o[2] + shift * d[2] - tree.frame[2])
    dx, dy, dz = kept_float(np.float32(d[0])), kept_float(np.float32(d[1])), kept_float(np.float32(d[2]))
    x, y, z = _inverse(dx), _inverse(dy), _inverse(dz)
    gridx, gridy, gridz, step = four_floats(tree.grid, 0)
    ax, ay, az = step * x, step * y, step * z
    bx, by, bz = (gridx - ox) * x, (gridy - oy) * y, (gridz - oz) * z
    return CardRay(
        ox,
        oy,
        oz,
        dx,
        dy,
        dz,
        ax,
        ay,
        az,
        bx,
        by,
        bz,
        HIGH if dx < NOTHING else LOW,
        HIGH if dy < NOTHING else LOW,
        HIGH if dz < NOTHING else LOW,
    )


@card_helper
def _plane(word: np.int32, pick: np.int32, a: np.float32, b: np.float32) -> np.float32:
    """Return the distance to one of the two planes in a word of a node."""
    return float_of(permute_bytes(word, OFFSET, pick)) * a + b


@card_helper
def _key(ray: CardRay, x: np.int32, y: np.int32, z: np.int32, lane: np.int32, limit: np.float32) -> np.int32:
    """Return the distance to a box with its lane in the last two bits, NO_KEY where a ray does not enter it.

    Distances that are not negative are in the order of their bits.
    """
    near = max(_plane(x, ray.nearx, ray.ax, ray.bx), _plane(y, ray.neary, ray.ay, ray.by))
    near = max(near, max(_plane(z, ray.nearz, ray.az, ray.bz), NOTHING))
    far = min(_plane(x, ray.nearx ^ OTHER, ray.ax, ray.bx), _plane(y, ray.neary ^ OTHER, ray.ay, ray.by))
    far = min(min(far, _plane(z, ray.nearz ^ OTHER, ray.az, ray.bz)), limit)
    return np.int32(bits_of(near) & ~LANE | lane) if near <= far else NO_KEY


@card_helper
def open_four(
    tree: CardTree, node: np.int32, ray: CardRay, limit: np.float32, stack: CardStack, top: np.int32
) -> tuple[np.int32, np.int32]:
    """Return the new top of the stack and the nearest child of a node that a ray enters; the stack gets the others.

    They go there as they lie in the node: to sort them costs more than it spares. If there is none, what lies
    uppermost on the stack is returned.
    """
    at = node * NODE_ROW
    x0, x1, x2, x3 = four_integers(tree.nodes, at)
    y0, y1, y2, y3 = four_integers(tree.nodes, at + 4)
    z0, z1, z2, z3 = four_integers(tree.nodes, at + 8)
    a, b, c, d = four_integers(tree.nodes, at + 12)
    first, second = _key(ray, x0, y0, z0, np.int32(0), limit), _key(ray, x1, y1, z1, np.int32(1), limit)
    third, fourth = _key(ray, x2, y2, z2, np.int32(2), limit), _key(ray, x3, y3, z3, np.int32(3), limit)
    nearest = min(min(first, second), min(third, fourth))
    if nearest == NO_KEY:
        return follow(stack, top, limit)
    top = _put(stack, top, a, first, nearest)
    top = _put(stack, top, b, second, nearest)
    top = _put(stack, top, c, third, nearest)
    top = _put(stack, top, d, fourth, nearest)
    low, high = (b, d) if nearest & 1 else (a, c)
    return top, high if nearest & 2 else low


@card_helper
def _put(stack: CardStack, top: np.int32, child: np.int32, key: np.int32, nearest: np.int32) -> np.int32:
    """Return the new top of the stack after putting a child there, unless it is not entered or the nearest."""
    if key == nearest or key == NO_KEY:  # noqa: PLR1714  # the card's compiler knows no sets
        return top
    store_two(stack.waiting, top, child, key)
    return np.int32(top + 2)


@card_helper
def test_triangle(
    tree: CardTree, row: np.int32, ray: CardRay, rounding: np.float32
) -> tuple[np.float32, np.float32, np.float32, np.float32]:
    """Return the least and the greatest distance to a triangle's plane, how far within the edges, and the slack of it.

    The last two are shares of an edge. `rounding` is the error of a distance at a right angle.
    """
    at = row * LEAF_ROW
    nx, ny, nz, n = four_floats(tree.leaves, at)
    ux, uy, uz, u0 = four_floats(tree.leaves, at + 4)
    vx, vy, vz, v0 = four_floats(tree.leaves, at + 8)
    change, _, _, _ = four_floats(tree.leaves, at + 12)
    steep = nx * ray.dx + ny * ray.dy + nz * ray.dz
    along = inverse(max(abs(steep), LEAST_SLOPE))
    height = n + nx * ray.ox + ny * ray.oy + nz * ray.oz
    t = (height if steep < NOTHING else -height) * along
    u = (u0 + ux * ray.ox + uy * ray.oy + uz * ray.oz) + t * (ux * ray.dx + uy * ray.dy + uz * ray.dz)
    v = (v0 + vx * ray.ox + vy * ray.oy + vz * ray.oz) + t * (vx * ray.dx + vy * ray.dy + vz * ray.dz)
    off = rounding * along
    return t - off, t + off, min(min(u, v), (ONE - u) - v), off * change


@card_helper
def follow(stack: CardStack, top: np.int32, limit: np.float32) -> tuple[np.int32, np.int32]:
    """Return the stack's new top and the reference there, the uppermost that lies within a limit."""
    most = bits_of(limit)
    top = np.int32(top - 2)
    reference, key = two_integers(stack.waiting, top)
    while key > most:
        top = np.int32(top - 2)
        reference, key = two_integers(stack.waiting, top)
    return top, reference


@card_helper
def _exact(tree: CardTree, row: np.int32, o: F64, d: F64, far: float, found: int) -> tuple[float, int]:
    """Return distance and triangle of the nearest hit after one more triangle, as the CPU finds them."""
    at = row * TRIANGLE_ROW
    x, y = two_floats(tree.triangle, at)
    z, e1x = two_floats(tree.triangle, at + 2)
    e1y, e1z = two_floats(tree.triangle, at + 4)
    e2x, e2y = two_floats(tree.triangle, at + 6)
    e2z, order = two_floats(tree.triangle, at + 8)
    px, py, pz = d[1] * e2z - d[2] * e2y, d[2] * e2x - d[0] * e2z, d[0] * e2y - d[1] * e2x
    determinant = e1x * px + e1y * py + e1z * pz
    if determinant == 0.0:
        return far, found
    inverse = 1.0 / determinant
    sx, sy, sz = o[0] - x, o[1] - y, o[2] - z
    u = (sx * px + sy * py + sz * pz) * inverse
    qx, qy, qz = sy * e1z - sz * e1y, sz * e1x - sx * e1z, sx * e1y - sy * e1x
    v = (d[0] * qx + d[1] * qy + d[2] * qz) * inverse
    nx, ny, nz = e1y * e2z - e1z * e2y, e1z * e2x - e1x * e2z, e1x * e2y - e1y * e2x
    t = -(sx * nx + sy * ny + sz * nz) / (d[0] * nx + d[1] * ny + d[2] * nz)
    row_there, rest = int(order), 1.0 - u - v
    inside = min(min(u, v), rest)
    if row_there < 0:
        row_there, inside = -1 - row_there, min(1.0 - max(u, v), -rest)
    if inside < -EDGE or not NEAR < t < far + TIE:
        return far, found
    if t < far - TIE or (row_there > found if found != MISS else t < far):
        return min(far, t), row_there
    return far, found


@card_helper
def _look(tree: CardTree, row: np.int32, ray: CardRay, stack: CardStack, sure: Sure) -> Sure:
    """Return what is known after one more triangle."""
    low, high, inner, slack = test_triangle(tree, row, ray, sure.rounding)
    if inner < -slack or high < NOTHING or low > sure.limit or row == sure.skipped:
        return sure
    best, count, least, limit = sure.best, sure.unsure, sure.least, sure.limit
    surely = inner >= slack and low > sure.pad
    if surely and high < least:
        best = row
    else:
        stack.undecided[count] = row
        count = np.int32(count + 1)
    if surely:
        least, limit = min(least, low - sure.pad), min(limit, high + sure.pad)
    return Sure(least, limit, best, count, sure.skipped, sure.pad, sure.rounding)


@card_helper
def _outside(frame: F64, o: F64) -> bool:
    """Return whether a place lies outside the box around all."""
    return abs(o[0] - frame[0]) > frame[3] or abs(o[1] - frame[1]) > frame[4] or abs(o[2] - frame[2]) > frame[5]


@stands_in_for(tree_traverse.next_hit)
@stands_in_for(tree_traverse.closest_hit)
def card_hit(tree: CardTree, o: F64, d: F64, far: float, stack: CardStack, leaving: int) -> tuple[float, int]:
    """Return what `sim.transport.tree_traverse.closest_hit` does, with its parameters."""
    shift = entry_shift(tree.frame, o, d) if _outside(tree.frame, o) else 0.0
    if shift >= far:
        return far, MISS
    ray = card_ray(tree, o, d, shift)
    widest = tree.frame[6]
    pad, rounding, _, _ = four_floats(tree.grid, 4)
    skipped = tree.rank[leaving] if leaving >= 0 else np.int32(MISS)
    store_two(stack.waiting, np.int32(0), BOTTOM, np.int32(MISS))
    top, found, group = np.int32(2), MISS, group_here()
    large, reference, _, _ = four_integers(tree.roots, 0)
    rest = np.float32(min(far - shift, widest))
    sure = Sure(rest - pad, rest + pad, np.int32(MISS), np.int32(0), skipped, pad, rounding)
    row = np.int32(0)
    while row < large:
        sure = _look(tree, row, ray, stack, sure)
        row = np.int32(row + 1)
    while True:
        # Threads that share an instruction all open a node or all look at a triangle, whichever more of them want.
        while True:
            goes_on = reference != BOTTOM and sure.unsure < UNDECIDED
            opens, looks = goes_on and reference >= 0, goes_on and reference < 0
            openers, lookers = vote(group, opens), vote(group, looks)
            if openers | lookers == 0:
                break
            if ones(openers) > ones(lookers):
                if opens:
                    top, reference = open_four(tree, reference, ray, sure.limit, stack, top)
            elif looks:
                row = np.int32(-(reference + 1) >> COUNT_BITS)
                sure = _look(tree, row, ray, stack, sure)
                if -(reference + 1) & COUNT_MASK > 1:
                    reference = np.int32(reference - COUNT_MASK)
                else:
                    top, reference = follow(stack, top, sure.limit)
        count = sure.unsure
        if sure.best != MISS:
            stack.undecided[count] = sure.best
            count = np.int32(count + 1)
        for place in range(count):
            far, found = _exact(tree, stack.undecided[place], o, d, far, found)
        if vote(group, reference != BOTTOM) == 0:
            return far, found
        rest = np.float32(min(far - shift, widest))
        sure = Sure(rest - pad, rest + pad, np.int32(MISS), np.int32(0), skipped, pad, rounding)
