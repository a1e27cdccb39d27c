"""Sixteen boxes or sixteen triangles at once, in single precision: three ways with the same bits.

Answers here only say what may be hit. Errors of rounding are bounded, and every bound is on the side of looking again:
a box or triangle that is passed over is missed in double precision, too, and `sim.transport.tree_traverse` decides
there. So nothing leaks, and single precision shows in no answer.
"""

from typing import NamedTuple

import numpy as np

from sim.transport.arrays import F64, Stack, Tree
from sim.transport.jit import VECTORS, helper
from sim.transport.simd import (
    at_most,
    choose,
    compress,
    first_one,
    greatest,
    last_one,
    least,
    load,
    nibbles,
    ones,
    permute,
    size_of,
    splat,
    store,
    turned,
)

ROW = 16
NODE = 6 * ROW
LEAF = 10 * ROW
NOTHING = np.float32(0.0)
ONE = np.float32(1.0)
FAR_OFF = np.float32(1e30)
LEAST_SIZE = np.float32(1e-30)
"""Determinants below this have no inverse in single precision: such a triangle is looked at again."""
LEAST_SLOPE = np.float32(1e-15)
SHARE_NEAR, SHARE_FAR = np.float32(1.0 - 2.0**-21), np.float32(1.0 + 2.0**-21)
"""Distances to planes are taken so much shorter or longer: more than four roundings."""


class Ray(NamedTuple):
    """A ray about the scene's centre, in single precision.

    Origin, direction; one over the direction for near and far planes; where the near and far rows of bounds start for
    each axis; the octant of the direction.
    """

    ox: np.float32
    oy: np.float32
    oz: np.float32
    dx: np.float32
    dy: np.float32
    dz: np.float32
    nearx: np.float32
    neary: np.float32
    nearz: np.float32
    farx: np.float32
    fary: np.float32
    farz: np.float32
    rowx: int
    rowy: int
    rowz: int
    octant: int


@helper
def _inverse(slope: np.float32) -> np.float32:
    size = max(abs(slope), LEAST_SLOPE)
    return ONE / (-size if slope < NOTHING else size)


@helper
def single_ray(frame: F64, o: F64, d: F64, shift: float) -> Ray:
    """Return a ray in single precision that starts a distance `shift` [m] along it."""
    x, y, z = _inverse(np.float32(d[0])), _inverse(np.float32(d[1])), _inverse(np.float32(d[2]))
    rowx, rowy, rowz = 3 * ROW if d[0] < 0.0 else 0, 3 * ROW if d[1] < 0.0 else 0, 3 * ROW if d[2] < 0.0 else 0
    return Ray(
        np.float32(o[0] + shift * d[0] - frame[0]),
        np.float32(o[1] + shift * d[1] - frame[1]),
        np.float32(o[2] + shift * d[2] - frame[2]),
        np.float32(d[0]),
        np.float32(d[1]),
        np.float32(d[2]),
        x * SHARE_NEAR,
        y * SHARE_NEAR,
        z * SHARE_NEAR,
        x * SHARE_FAR,
        y * SHARE_FAR,
        z * SHARE_FAR,
        rowx,
        rowy + ROW,
        rowz + 2 * ROW,
        (1 if d[0] < 0.0 else 0) + (2 if d[1] < 0.0 else 0) + (4 if d[2] < 0.0 else 0),
    )


@helper
def _enter_wide(tree: Tree, node: int, ray: Ray, limit: np.float32) -> tuple[object, int]:
    """Return the distances to sixteen boxes, and the mask of those that a ray enters within a limit."""
    at = node * NODE
    ox, oy, oz = splat(ray.ox), splat(ray.oy), splat(ray.oz)
    near = (load(tree.bounds, at + ray.rowx) - ox) * splat(ray.nearx)
    near = greatest(near, (load(tree.bounds, at + ray.rowy) - oy) * splat(ray.neary))
    near = greatest(greatest(near, (load(tree.bounds, at + ray.rowz) - oz) * splat(ray.nearz)), splat(NOTHING))
    # The far plane of an axis lies three rows above or below the near one.
    far = (load(tree.bounds, at + 3 * ROW - ray.rowx) - ox) * splat(ray.farx)
    far = least(far, (load(tree.bounds, at + 5 * ROW - ray.rowy) - oy) * splat(ray.fary))
    far = least(least(far, (load(tree.bounds, at + 7 * ROW - ray.rowz) - oz) * splat(ray.farz)), splat(limit))
    return near, at_most(near, far)


@helper
def open_compressed(tree: Tree, node: int, ray: Ray, limit: np.float32, stack: Stack, top: int) -> tuple[int, int]:
    """Return how many children of a node a ray enters, and the nearest of them, if any (AVX-512).

    The children are put onto the stack from `top` on, far ones first.
    """
    near, mask = _enter_wide(tree, node, ray, limit)
    word = tree.orders[node, ray.octant]
    order, count = nibbles(word), ones(mask)
    if mask == 0:
        return 0, 0
    near = permute(choose(mask, near, splat(FAR_OFF)), order)
    mask = at_most(near, splat(limit))
    store(stack.reference, top, compress(permute(load(tree.child, node * ROW), order), mask))
    store(stack.distance, top, compress(near, mask))
    # Reading the stack at once would wait for the store above.
    return count, tree.child[node, word >> (4 * last_one(mask)) & 15]


@helper
def _push(tree: Tree, node: int, octant: int, mask: int, stack: Stack, top: int) -> tuple[int, int]:
    """Put the children of a mask, whose distances are in `stack.low`, onto the stack; return as `open_compressed`."""
    order, start, nearest = tree.orders[node, octant], top, 0
    for turn in range(ROW):
        lane = order >> (4 * turn) & 15
        stack.reference[top] = tree.child[node, lane]
        stack.distance[top] = stack.low[lane]
        if mask >> lane & 1:
            nearest = tree.child[node, lane]
            top += 1
    return top - start, nearest


@helper
def open_vector(tree: Tree, node: int, ray: Ray, limit: np.float32, stack: Stack, top: int) -> tuple[int, int]:
    """Do what `open_compressed` does, with nothing but what LLVM has for every machine."""
    near, mask = _enter_wide(tree, node, ray, limit)
    store(stack.low, 0, near)
    return _push(tree, node, ray.octant, mask, stack, top)


@helper
def open_plain(tree: Tree, node: int, ray: Ray, limit: np.float32, stack: Stack, top: int) -> tuple[int, int]:
    """Do what `open_compressed` does, one child after the other."""
    x, y, z = ray.rowx // ROW, ray.rowy // ROW, ray.rowz // ROW
    mask = 0
    for lane in range(ROW):
        box = tree.bounds[node, :, lane]
        near = max((box[x] - ray.ox) * ray.nearx, (box[y] - ray.oy) * ray.neary)
        near = max(max(near, (box[z] - ray.oz) * ray.nearz), NOTHING)
        far = min((box[3 - x] - ray.ox) * ray.farx, (box[5 - y] - ray.oy) * ray.fary)
        far = min(min(far, (box[7 - z] - ray.oz) * ray.farz), limit)
        stack.low[lane] = near
        if near <= far:
            mask |= 1 << lane
    return _push(tree, node, ray.octant, mask, stack, top)


@helper
def test_vector(
    tree: Tree, leaf: int, ray: Ray, limit: np.float32, per_slack: np.float32, stack: Stack
) -> tuple[int, int]:
    """Return the masks of triangles of a leaf that a ray may hit within a limit, and of those whose edges it clears.

    Least and greatest distances go to `stack.low` and `stack.high`. `per_slack` is one over the slack of a unit edge.
    """
    at = leaf * LEAF
    dx, dy, dz = splat(ray.dx), splat(ray.dy), splat(ray.dz)
    e1x, e1y, e1z = load(tree.block, at + 3 * ROW), load(tree.block, at + 4 * ROW), load(tree.block, at + 5 * ROW)
    e2x, e2y, e2z = load(tree.block, at + 6 * ROW), load(tree.block, at + 7 * ROW), load(tree.block, at + 8 * ROW)
    slack = load(tree.block, at + 9 * ROW)
    px, py, pz = dy * e2z - dz * e2y, dz * e2x - dx * e2z, dx * e2y - dy * e2x
    signed = (e1x * px + e1y * py) + e1z * pz
    size = size_of(signed)
    sx, sy = splat(ray.ox) - load(tree.block, at), splat(ray.oy) - load(tree.block, at + ROW)
    sz = splat(ray.oz) - load(tree.block, at + 2 * ROW)
    u = turned((sx * px + sy * py) + sz * pz, signed)
    qx, qy, qz = sy * e1z - sz * e1y, sz * e1x - sx * e1z, sx * e1y - sy * e1x
    v = turned((dx * qx + dy * qy) + dz * qz, signed)
    inner = least(least(u, (size - u) - v), v)
    may = at_most(splat(NOTHING) - slack, inner)
    if may == 0:
        return 0, 0
    inverse = splat(ONE) / size
    t = turned((e2x * qx + e2y * qy) + e2z * qz, signed) * inverse
    off = (slack * slack) * splat(per_slack) * inverse
    known = at_most(splat(LEAST_SIZE), size)
    low, high = choose(known, t - off, splat(-FAR_OFF)), choose(known, t + off, splat(FAR_OFF))
    store(stack.low, 0, low)
    store(stack.high, 0, high)
    may &= at_most(low, splat(limit)) & at_most(splat(NOTHING), high)
    return may, may & at_most(slack, inner)


@helper
def test_plain(
    tree: Tree, leaf: int, ray: Ray, limit: np.float32, per_slack: np.float32, stack: Stack
) -> tuple[int, int]:
    """Do what `test_vector` does, one triangle after the other."""
    may, clears = 0, 0
    dx, dy, dz = ray.dx, ray.dy, ray.dz
    for lane in range(ROW):
        row = tree.block[leaf, :, lane]
        e1x, e1y, e1z, e2x, e2y, e2z, slack = row[3], row[4], row[5], row[6], row[7], row[8], row[9]
        px, py, pz = dy * e2z - dz * e2y, dz * e2x - dx * e2z, dx * e2y - dy * e2x
        signed = (e1x * px + e1y * py) + e1z * pz
        sign = -ONE if signed < NOTHING else ONE
        size = signed * sign
        sx, sy, sz = ray.ox - row[0], ray.oy - row[1], ray.oz - row[2]
        u = ((sx * px + sy * py) + sz * pz) * sign
        qx, qy, qz = sy * e1z - sz * e1y, sz * e1x - sx * e1z, sx * e1y - sy * e1x
        v = ((dx * qx + dy * qy) + dz * qz) * sign
        inner = min(min(u, v), (size - u) - v)
        if inner < -slack:
            continue
        low, high = -FAR_OFF, FAR_OFF
        if size >= LEAST_SIZE:
            inverse = ONE / size
            t = ((e2x * qx + e2y * qy) + e2z * qz) * sign * inverse
            off = (slack * slack) * per_slack * inverse
            low, high = t - off, t + off
        stack.low[lane], stack.high[lane] = low, high
        if low <= limit and high >= NOTHING:
            may |= 1 << lane
            clears |= (1 << lane) if inner >= slack else 0
    return may, clears


@helper
def first_plain(mask: int) -> int:
    """Return the place of the lowest bit that is one; some must be."""
    lane = 0
    while not mask >> lane & 1:
        lane += 1
    return lane


open_node = {"avx512": open_compressed, "vector": open_vector, "plain": open_plain}[VECTORS]
test_leaf = test_plain if VECTORS == "plain" else test_vector
first_of = first_plain if VECTORS == "plain" else first_one
