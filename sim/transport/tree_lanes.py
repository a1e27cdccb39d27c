"""Sixteen boxes or sixteen pieces at once, in single precision, in three ways that lead to the same answers.

What is found here only says what may be hit. Errors of rounding are bounded, and every bound is on the side of looking
again: a box or piece that is passed over is missed in double precision, too, and `sim.transport.tree_traverse` decides
there. So nothing leaks, single precision shows in no answer, and the ways may round as suits them.
"""

import numpy as np

from sim.transport.arrays import F32, F64, I64, Stack, Tree
from sim.transport.jit import VECTORS, helper
from sim.transport.simd import (
    any_greater,
    at_most,
    below_zero,
    bit_at,
    choose,
    compress,
    first_one,
    fused,
    greatest,
    inverse,
    least,
    load,
    load_order,
    negative,
    not_less,
    ones,
    permute,
    prefetch,
    shortened,
    signed_inverse,
    size_of,
    splat,
    spread,
    store,
    turned,
    vector_at,
)

ROW = 16
NODE = 8 * ROW
CHILD, ORDERS = 6, 56
"""Of a node: the row of children, and the first of the words that tell their order."""
WORDS = NODE // 2
COLUMNS = 12
"""Numbers of a piece in a leaf, see `Tree`."""
ABOUT = COLUMNS
SLACK, OFF, THERE, PAIRS, START = 0, 1, 2, 3, 4
"""Row and columns of a leaf that tell of all its pieces."""
LEAF = (COLUMNS + 1) * ROW
NOTHING = np.float32(0.0)
ONE = np.float32(1.0)
FAR_OFF = np.float32(1e30)
LEAST_SIZE = np.float32(1e-30)
"""By a smaller slope nothing is divided: such a piece is looked at again."""
LEAST_SLOPE = np.float32(1e-15)
SHARE_NEAR, SHARE_FAR = np.float32(1.0 - 2.0**-21), np.float32(1.0 + 2.0**-21)
"""Distances to planes are taken so much shorter or longer: more than four roundings."""


# Places in `Stack`.
ORIGIN, TOWARDS, NEAR_SLOPE, FAR_SLOPE, NEAR_SHIFT, FAR_SHIFT = 0, 4, 8, 12, 16, 20
LIMIT, LEAST, PAD = 24, 25, 26
"""Of ``ray``: three coordinates each, one over slopes, and minus the origin times that; a hit beyond LIMIT is none, one
nearer than LEAST is surely nearer than any so far; PAD is how far distances of one hit may be apart."""
ROWX, ROWY, ROWZ, OCTANT, CLEARS, FIRST = 0, 1, 2, 3, 4, 5
"""Of ``state``: where near bounds start, and the octant; mask of a leaf's pieces whose edges the ray clears, and the
row of the first piece."""
WAITING, FOUND, OWN, ACROSS, HALF = 6, 7, 8, 9, 10
"""More of ``state``: the piece that waits, the triangle hit so far, the piece that the ray leaves; mask of a leaf's
pieces whose second half the ray meets, and whether it does so on the piece that waits."""
CORNER, EDGES, PIECE, NAMES = 0, 3, 10, 18
"""Columns of ``piece`` in `Tree` and how many there are, and the first of the two in ``names``."""


@helper
def _set_octant(state: I64, octant: int) -> None:
    """Keep which axes a ray follows downwards, bit by bit, and where near bounds start for that."""
    state[ROWX], state[ROWY], state[ROWZ] = 0, ROW, 2 * ROW
    for axis in range(3):
        state[ROWX + axis] += 3 * ROW * (octant >> axis & 1)
    state[OCTANT] = octant


@helper
def outside_vector(frame: F64, o: F64) -> bool:
    """Return whether a point is outside the box around all."""
    return any_greater(size_of(vector_at(o, 0) - vector_at(frame, 0)), vector_at(frame, 3))


@helper
def outside_plain(frame: F64, o: F64) -> bool:
    """Do what `outside_vector` does, one axis after the other."""
    for axis in range(3):
        if abs(o[axis] - frame[axis]) > frame[3 + axis]:
            return True
    return False


@helper
def set_ray_vector(frame: F64, o: F64, d: F64, shift: float, walk: Stack) -> None:
    """Keep a ray, which enters the box around all a distance `shift` [m] along it, in the columns of a walk."""
    kept, state, towards = walk.ray, walk.state, vector_at(d, 0)
    start = vector_at(o, 0)
    store(walk.exact, 0, start)
    store(walk.exact, 4, towards)
    origin = shortened(start + spread(shift) * towards - vector_at(frame, 0))
    slope = signed_inverse(shortened(towards), LEAST_SLOPE)
    near, far, back = slope * spread(SHARE_NEAR), slope * spread(SHARE_FAR), negative(origin)
    store(kept, ORIGIN, origin)
    store(kept, TOWARDS, shortened(towards))
    store(kept, NEAR_SLOPE, near)
    store(kept, FAR_SLOPE, far)
    store(kept, NEAR_SHIFT, back * near)
    store(kept, FAR_SHIFT, back * far)
    _set_octant(state, below_zero(towards))


@helper
def set_ray_plain(frame: F64, o: F64, d: F64, shift: float, walk: Stack) -> None:
    """Do what `set_ray_vector` does, one axis after the other."""
    kept, octant = walk.ray, 0
    for axis in range(3):
        walk.exact[axis], walk.exact[4 + axis] = o[axis], d[axis]
        origin, towards = np.float32(o[axis] + shift * d[axis] - frame[axis]), np.float32(d[axis])
        size = max(abs(towards), LEAST_SLOPE)
        slope = ONE / (-size if towards < NOTHING else size)
        near, far = slope * SHARE_NEAR, slope * SHARE_FAR
        kept[ORIGIN + axis], kept[TOWARDS + axis] = origin, towards
        kept[NEAR_SLOPE + axis], kept[FAR_SLOPE + axis] = near, far
        kept[NEAR_SHIFT + axis], kept[FAR_SHIFT + axis] = -origin * near, -origin * far
        octant |= (1 << axis) if d[axis] < 0.0 else 0
    _set_octant(walk.state, octant)


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
    order = load_order(tree.orders, node * WORDS + ORDERS + state[OCTANT])
    near, far = permute(_near(tree, node, ray, state), order), permute(_far(tree, node, ray, state), order)
    mask = at_most(near, far)
    store(walk.reference, top, compress(permute(load(tree.child, node * NODE + CHILD * ROW), order), mask))
    store(walk.distance, top, compress(near, mask))
    return top - 1 + ones(mask)


@helper
def place_in_order(turn: int) -> int:
    """Return the bit where the child of a turn starts in the word of an order: turns alternate between its halves."""
    return 4 * (turn >> 1) + 32 * (turn & 1)


@helper
def _push(tree: Tree, node: int, walk: Stack, mask: int, top: int) -> int:
    """Put the children of a mask, whose distances are in `low`, onto the stack; return its new top."""
    order = tree.orders[node, ORDERS + walk.state[OCTANT]]
    for turn in range(ROW):
        lane = order >> place_in_order(turn) & 15
        walk.reference[top], walk.distance[top] = tree.child[node, CHILD, lane], walk.low[lane]
        top += mask >> lane & 1
    return top - 1


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
def test_vector(tree: Tree, leaf: int, walk: Stack) -> int:
    """Return a mask of which pieces of a leaf a ray may hit within its limit.

    If any, a mask of those whose edges it surely clears goes to CLEARS, and their least and greatest distances go to
    `low` and `high`. What is not a number may be anything, and is looked at.
    """
    ray, at, row = walk.ray, leaf * LEAF, np.uint64(leaf)
    ox, oy, oz = splat(ray[ORIGIN]), splat(ray[ORIGIN + 1]), splat(ray[ORIGIN + 2])
    dx, dy, dz = splat(ray[TOWARDS]), splat(ray[TOWARDS + 1]), splat(ray[TOWARDS + 2])
    nx, ny, nz = load(tree.block, at), load(tree.block, at + ROW), load(tree.block, at + 2 * ROW)
    ux, uy, uz = load(tree.block, at + 4 * ROW), load(tree.block, at + 5 * ROW), load(tree.block, at + 6 * ROW)
    vx, vy, vz = load(tree.block, at + 8 * ROW), load(tree.block, at + 9 * ROW), load(tree.block, at + 10 * ROW)
    slope = fused(nz, dz, fused(ny, dy, nx * dx))
    height = fused(nz, oz, fused(ny, oy, fused(nx, ox, load(tree.block, at + 3 * ROW))))
    # Distances and coordinates are compared times the slope, so that a miss needs no division.
    size, height = size_of(slope), turned(negative(height), slope)
    u = fused(uz, oz, fused(uy, oy, fused(ux, ox, load(tree.block, at + 7 * ROW))))
    v = fused(vz, oz, fused(vy, oy, fused(vx, ox, load(tree.block, at + 11 * ROW))))
    along_u, along_v = fused(uz, dz, fused(uy, dy, ux * dx)), fused(vz, dz, fused(vy, dy, vx * dx))
    rest, along_rest = splat(ONE) - (u + v), negative(along_u + along_v)
    u, v, rest = (
        fused(height, along_u, u * size),
        fused(height, along_v, v * size),
        fused(height, along_rest, rest * size),
    )
    # A triangle ends where u + v is one, a parallelogram where u or v is.
    beyond = choose(tree.lanes[row, ABOUT, PAIRS], size - greatest(u, v), rest)
    inner = least(least(u, v), beyond)
    slack, off = splat(tree.block[row, ABOUT, SLACK]), splat(tree.block[row, ABOUT, OFF])
    # What is known last is looked at last: the processor takes these one after the other.
    may = not_less(height, negative(off)) & not_less(fused(splat(ray[LIMIT]), size, off), height)
    may &= not_less(inner, negative(slack))
    may &= tree.lanes[row, ABOUT, THERE] & ~bit_at(walk.state[OWN] - tree.lanes[row, ABOUT, START])
    if may != 0:
        over = inverse(size)
        distance, off = height * over, off * over
        store(walk.low, 0, distance - off)
        store(walk.high, 0, distance + off)
        # The line between the halves of a parallelogram is an edge, too: it parts their names.
        between = tree.lanes[row, ABOUT, PAIRS] & not_less(slack, size_of(rest))
        walk.state[CLEARS], walk.state[FIRST] = ~(not_less(slack, inner) | between), tree.lanes[row, ABOUT, START]
        walk.state[ACROSS] = ~not_less(rest, splat(NOTHING)) & tree.lanes[row, ABOUT, PAIRS]
    return may


@helper
def _along(planes: F32, first: int, ray: F32, column: int) -> np.float32:
    """Return the product of a vector among a piece's planes with one of a ray's."""
    x, y, z = planes[first] * ray[column], planes[first + 1] * ray[column + 1], planes[first + 2] * ray[column + 2]
    return (x + y) + z


@helper
def test_plain(tree: Tree, leaf: int, walk: Stack) -> int:
    """Do what `test_vector` does, one piece after the other."""
    may, clears, across, ray = 0, 0, 0, walk.ray
    for lane in range(ROW):
        if not tree.lanes[leaf, ABOUT, THERE] >> lane & 1 or walk.state[OWN] == tree.lanes[leaf, ABOUT, START] + lane:
            continue
        planes = tree.block[leaf, :, lane]
        slope, height = _along(planes, 0, ray, TOWARDS), _along(planes, 0, ray, ORIGIN) + planes[3]
        size, height = abs(slope), height if slope < NOTHING else -height
        u = (_along(planes, 4, ray, ORIGIN) + planes[7]) * size + height * _along(planes, 4, ray, TOWARDS)
        v = (_along(planes, 8, ray, ORIGIN) + planes[11]) * size + height * _along(planes, 8, ray, TOWARDS)
        pair = tree.lanes[leaf, ABOUT, PAIRS] >> lane & 1
        rest = (size - u) - v
        inner = min(min(u, v), size - max(u, v) if pair else rest)
        slack, off = tree.block[leaf, ABOUT, SLACK], tree.block[leaf, ABOUT, OFF]
        # What is not a number is neither less nor more.
        if not (height < -off or ray[LIMIT] * size + off < height or inner < -slack):
            may |= 1 << lane
            apart = min(inner, abs(rest)) if pair else inner
            clears |= (1 << lane) if apart > slack else 0
            across |= (1 << lane) if pair and rest < NOTHING else 0
            walk.low[lane], walk.high[lane] = -FAR_OFF, FAR_OFF
            if size > LEAST_SIZE:
                walk.low[lane], walk.high[lane] = (height - off) / size, (height + off) / size
    walk.state[CLEARS], walk.state[FIRST], walk.state[ACROSS] = clears, tree.lanes[leaf, ABOUT, START], across
    return may


@helper
def first_plain(mask: int) -> int:
    """Return the place of the lowest bit that is one; some must be."""
    lane = 0
    while not mask >> lane & 1:
        lane += 1
    return lane


@helper
def prune_plain(walk: Stack, top: int, limit: np.float32) -> int:
    """Do what `prune_compressed` does, one after the other."""
    kept = 1
    for at in range(1, top + 1):
        walk.reference[kept], walk.distance[kept] = walk.reference[at], walk.distance[at]
        kept += int(walk.distance[at] <= limit)
    return kept - 1


@helper
def prune_compressed(walk: Stack, top: int, limit: np.float32) -> int:
    """Take what is farther than a limit off the stack; return its new top."""
    kept, at = 1, 1
    while at <= top:
        reference, distance = load(walk.reference, at), load(walk.distance, at)
        mask = at_most(distance, splat(limit)) & ((1 << min(ROW, top + 1 - at)) - 1)
        store(walk.reference, kept, compress(reference, mask))
        store(walk.distance, kept, compress(distance, mask))
        kept += ones(mask)
        at += ROW
    return kept - 1


@helper
def call_piece_vector(tree: Tree, row: int) -> None:
    """Ask memory for a piece that will be looked at."""
    prefetch(tree.piece, row * PIECE)
    prefetch(tree.piece, row * PIECE + PIECE - 1)


@helper
def call_place_vector(tree: Tree, triangle: int) -> None:
    """Ask memory for the place of a triangle that a ray will leave; -1 for none."""
    prefetch(tree.place, max(0, triangle))


@helper
def call_ray_vector(origins: F64, directions: F64, row: int) -> None:
    """Ask memory for a ray that will set out soon."""
    prefetch(origins, row * 3)
    prefetch(directions, row * 3)


@helper
def call_ray_plain(origins: F64, directions: F64, row: int) -> None:
    """Leave it to the processor."""


@helper
def call_piece_plain(tree: Tree, row: int) -> None:
    """Leave it to the processor."""


_PLAIN, _COMPRESSED = VECTORS == "plain", VECTORS == "avx512"
outside = outside_plain if _PLAIN else outside_vector
set_ray = set_ray_plain if _PLAIN else set_ray_vector
open_node = open_plain if _PLAIN else open_compressed if _COMPRESSED else open_vector
prune = prune_compressed if _COMPRESSED else prune_plain
test_leaf = test_plain if _PLAIN else test_vector
first_of = first_plain if _PLAIN else first_one
call_piece = call_piece_plain if _PLAIN else call_piece_vector
call_ray = call_ray_plain if _PLAIN else call_ray_vector
call_place = call_piece_plain if _PLAIN else call_place_vector
