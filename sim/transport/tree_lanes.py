"""Sixteen boxes or sixteen pieces at once, in single precision, in three ways that lead to the same answers.

What is found here only says what may be hit. Errors of rounding are bounded, and every bound is on the side of looking
again: a box or piece that is passed over is missed in double precision, too, and `sim.transport.tree_traverse` decides
there. So nothing leaks, single precision shows in no answer, and the ways may round as suits them.
"""

from typing import NamedTuple

import numpy as np

from sim.transport.arrays import F32, F64, I64, Stack, Tree
from sim.transport.jit import VECTORS, helper
from sim.transport.simd import (
    at_most,
    bit_at,
    choose,
    compress,
    first_one,
    fused,
    greatest,
    inverse,
    least,
    load,
    load_bytes,
    negative,
    not_less,
    ones,
    permute,
    size_of,
    splat,
    store,
)

ROW = 16
NODE = 6 * ROW
LEAF = 9 * ROW
NOTHING = np.float32(0.0)
ONE = np.float32(1.0)
FAR_OFF = np.float32(1e30)
LEAST_SIZE = np.float32(1e-30)
"""Determinants below this have no inverse in single precision: such a piece is looked at again."""
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


# Places in `Stack`.
ORIGIN, TOWARDS, NEAR_SLOPE, FAR_SLOPE, NEAR_SHIFT, FAR_SHIFT, LIMIT, LEAST = 0, 3, 6, 9, 12, 15, 18, 19
"""Of ``ray``: three coordinates each, one over slopes, and minus the origin times that; a hit beyond LIMIT is none, one
nearer than LEAST is surely nearer than any so far."""
ROWX, ROWY, ROWZ, OCTANT, TOP, MAY, CLEARS, FIRST = 0, 1, 2, 3, 4, 5, 6, 7
"""Of ``state``: where near bounds start, the octant, how much is to be visited; masks of a leaf's pieces that may be
hit and whose edges the ray clears, and the row of the first."""
WAITING, FOUND, OWN = 8, 9, 10
"""More of ``state``: the piece that waits, the triangle hit so far, the piece that the ray leaves."""


@helper
def _three(kept: F32, at: int, x: np.float32, y: np.float32, z: np.float32) -> None:
    kept[at], kept[at + 1], kept[at + 2] = x, y, z


@helper
def set_ray(walk: Stack, ray: Ray) -> None:
    """Keep a ray in the columns of a walk."""
    kept, state = walk.ray, walk.state
    kept[0], kept[1], kept[2], kept[3], kept[4], kept[5] = ray.ox, ray.oy, ray.oz, ray.dx, ray.dy, ray.dz
    kept[6], kept[7], kept[8], kept[9], kept[10], kept[11] = (
        ray.nearx,
        ray.neary,
        ray.nearz,
        ray.farx,
        ray.fary,
        ray.farz,
    )
    kept[12], kept[13], kept[14] = -ray.ox * ray.nearx, -ray.oy * ray.neary, -ray.oz * ray.nearz
    kept[15], kept[16], kept[17] = -ray.ox * ray.farx, -ray.oy * ray.fary, -ray.oz * ray.farz
    state[ROWX], state[ROWY], state[ROWZ], state[OCTANT] = ray.rowx, ray.rowy, ray.rowz, ray.octant


@helper
def _near(tree: Tree, node: int, ray: F32, state: I64) -> object:
    """Return the distances to sixteen boxes."""
    at = node * NODE
    x = fused(load(tree.bounds, at + state[ROWX]), splat(ray[NEAR_SLOPE]), splat(ray[NEAR_SHIFT]))
    y = fused(load(tree.bounds, at + state[ROWY]), splat(ray[NEAR_SLOPE + 1]), splat(ray[NEAR_SHIFT + 1]))
    z = fused(load(tree.bounds, at + state[ROWZ]), splat(ray[NEAR_SLOPE + 2]), splat(ray[NEAR_SHIFT + 2]))
    return greatest(greatest(x, y), greatest(z, splat(NOTHING)))


@helper
def _far(tree: Tree, node: int, ray: F32, state: I64) -> object:
    """Return where a ray leaves sixteen boxes, at its limit at the latest."""
    # The far plane of an axis lies three rows above or below the near one.
    at = node * NODE
    x = fused(load(tree.bounds, at + 3 * ROW - state[ROWX]), splat(ray[FAR_SLOPE]), splat(ray[FAR_SHIFT]))
    y = fused(load(tree.bounds, at + 5 * ROW - state[ROWY]), splat(ray[FAR_SLOPE + 1]), splat(ray[FAR_SHIFT + 1]))
    z = fused(load(tree.bounds, at + 7 * ROW - state[ROWZ]), splat(ray[FAR_SLOPE + 2]), splat(ray[FAR_SHIFT + 2]))
    return least(least(x, y), least(z, splat(ray[LIMIT])))


@helper
def open_compressed(tree: Tree, node: int, walk: Stack, top: int) -> int:
    """Put the children of a node that a ray enters onto the stack, far ones first; return its new top (AVX-512)."""
    ray, state = walk.ray, walk.state
    order = load_bytes(tree.orders, (node * 8 + state[OCTANT]) * ROW)
    near, far = permute(_near(tree, node, ray, state), order), permute(_far(tree, node, ray, state), order)
    mask = at_most(near, far)
    store(walk.reference, top, compress(permute(load(tree.child, node * ROW), order), mask))
    store(walk.distance, top, compress(near, mask))
    return top + ones(mask)


@helper
def _push(tree: Tree, node: int, walk: Stack, mask: int, top: int) -> int:
    """Put the children of a mask, whose distances are in `low`, onto the stack; return its new top."""
    for turn in range(ROW):
        lane = int(tree.orders[node, walk.state[OCTANT], turn])
        walk.reference[top], walk.distance[top] = tree.child[node, lane], walk.low[lane]
        top += mask >> lane & 1
    return top


@helper
def open_vector(tree: Tree, node: int, walk: Stack, top: int) -> int:
    """Do what `open_compressed` does, with nothing but what LLVM has for every machine."""
    near = _near(tree, node, walk.ray, walk.state)
    mask = at_most(near, _far(tree, node, walk.ray, walk.state))
    store(walk.low, 0, near)
    return _push(tree, node, walk, mask, top)


@helper
def open_plain(tree: Tree, node: int, walk: Stack, top: int) -> int:
    """Do what `open_compressed` does, one child after the other."""
    ray = walk.ray
    x, y, z = walk.state[ROWX] // ROW, walk.state[ROWY] // ROW, walk.state[ROWZ] // ROW
    mask = 0
    for lane in range(ROW):
        box = tree.bounds[node, :, lane]
        near = max((box[x] - ray[ORIGIN]) * ray[NEAR_SLOPE], (box[y] - ray[ORIGIN + 1]) * ray[NEAR_SLOPE + 1])
        near = max(max(near, (box[z] - ray[ORIGIN + 2]) * ray[NEAR_SLOPE + 2]), NOTHING)
        far = min((box[3 - x] - ray[ORIGIN]) * ray[FAR_SLOPE], (box[5 - y] - ray[ORIGIN + 1]) * ray[FAR_SLOPE + 1])
        far = min(min(far, (box[7 - z] - ray[ORIGIN + 2]) * ray[FAR_SLOPE + 2]), ray[LIMIT])
        walk.low[lane] = near
        if near <= far:
            mask |= 1 << lane
    return _push(tree, node, walk, mask, top)


@helper
def test_vector(tree: Tree, leaf: int, walk: Stack) -> None:
    """Tell which pieces of a leaf a ray may hit within its limit (MAY), and whose edges it surely clears (CLEARS).

    Their least and greatest distances go to `low` and `high`. What is not a number may be anything, and is looked at.
    """
    ray, at, row = walk.ray, leaf * LEAF, np.uint64(leaf)
    dx, dy, dz = splat(ray[TOWARDS]), splat(ray[TOWARDS + 1]), splat(ray[TOWARDS + 2])
    e1x, e1y, e1z = load(tree.block, at + 3 * ROW), load(tree.block, at + 4 * ROW), load(tree.block, at + 5 * ROW)
    e2x, e2y, e2z = load(tree.block, at + 6 * ROW), load(tree.block, at + 7 * ROW), load(tree.block, at + 8 * ROW)
    px = fused(dy, e2z, negative(dz * e2y))
    py = fused(dz, e2x, negative(dx * e2z))
    pz = fused(dx, e2y, negative(dy * e2x))
    over = inverse(fused(e1z, pz, fused(e1y, py, e1x * px)))
    sx, sy = splat(ray[ORIGIN]) - load(tree.block, at), splat(ray[ORIGIN + 1]) - load(tree.block, at + ROW)
    sz = splat(ray[ORIGIN + 2]) - load(tree.block, at + 2 * ROW)
    qx = fused(sy, e1z, negative(sz * e1y))
    qy = fused(sz, e1x, negative(sx * e1z))
    qz = fused(sx, e1y, negative(sy * e1x))
    u = fused(sz, pz, fused(sy, py, sx * px)) * over
    v = fused(dz, qz, fused(dy, qy, dx * qx)) * over
    t = fused(e2z, qz, fused(e2y, qy, e2x * qx)) * over
    less = least(u, v)
    # A triangle ends where u + v is one, a parallelogram where u or v is.
    beyond = (splat(ONE) - greatest(u, v)) - choose(tree.lanes[row, 1], splat(NOTHING), less)
    inner, size = least(less, beyond), size_of(over)
    slack, off = splat(tree.slack[row, 0]) * size, splat(tree.slack[row, 1]) * size
    low, high = t - off, t + off
    may = not_less(inner, negative(slack)) & not_less(splat(ray[LIMIT]), low) & not_less(high, splat(NOTHING))
    may &= tree.lanes[row, 0] & ~bit_at(walk.state[OWN] - tree.lanes[row, 2])
    walk.state[MAY] = may
    if may != 0:
        store(walk.low, 0, low)
        store(walk.high, 0, high)
        walk.state[CLEARS], walk.state[FIRST] = ~not_less(slack, inner), tree.lanes[row, 2]


@helper
def test_plain(tree: Tree, leaf: int, walk: Stack) -> None:
    """Do what `test_vector` does, one piece after the other."""
    may, clears, ray = 0, 0, walk.ray
    dx, dy, dz = ray[TOWARDS], ray[TOWARDS + 1], ray[TOWARDS + 2]
    edge_slack, off = tree.slack[leaf, 0], tree.slack[leaf, 1]
    for lane in range(ROW):
        if not tree.lanes[leaf, 0] >> lane & 1 or walk.state[OWN] == tree.lanes[leaf, 2] + lane:
            continue
        piece = tree.block[leaf, :, lane]
        e1x, e1y, e1z, e2x, e2y, e2z = piece[3], piece[4], piece[5], piece[6], piece[7], piece[8]
        px, py, pz = dy * e2z - dz * e2y, dz * e2x - dx * e2z, dx * e2y - dy * e2x
        signed = (e1x * px + e1y * py) + e1z * pz
        sign = -ONE if signed < NOTHING else ONE
        size = signed * sign
        sx, sy, sz = ray[ORIGIN] - piece[0], ray[ORIGIN + 1] - piece[1], ray[ORIGIN + 2] - piece[2]
        u = ((sx * px + sy * py) + sz * pz) * sign
        qx, qy, qz = sy * e1z - sz * e1y, sz * e1x - sx * e1z, sx * e1y - sy * e1x
        v = ((dx * qx + dy * qy) + dz * qz) * sign
        beyond = (size - max(u, v)) - (NOTHING if tree.lanes[leaf, 1] >> lane & 1 else min(u, v))
        inner = min(min(u, v), beyond)
        if inner < -edge_slack:
            continue
        low, high = -FAR_OFF, FAR_OFF
        if size >= LEAST_SIZE:
            t = ((e2x * qx + e2y * qy) + e2z * qz) * sign
            low, high = (t - off) / size, (t + off) / size
        walk.low[lane], walk.high[lane] = low, high
        if low <= ray[LIMIT] and high >= NOTHING:
            may |= 1 << lane
            clears |= (1 << lane) if inner > edge_slack and size >= LEAST_SIZE else 0
    walk.state[MAY], walk.state[CLEARS], walk.state[FIRST] = may, clears, tree.lanes[leaf, 2]


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
