"""Closest hit of a ray with the tree; triangles by Möller and Trumbore (J. Graph. Tools 2(1), 1997).

Boxes and pieces are sifted in single precision (`sim.transport.tree_lanes`). What decides is computed in double
precision: the one piece left at the end, and before that every piece that single precision cannot rule out or put in
order. So distances are good to the last digits of double precision.

A walk goes step by step, so that several may take turns: while one waits for memory and for the outcome of its sums,
the processor works on another.
"""

from typing import NamedTuple

import numpy as np

from sim.transport.arrays import F64, I64, Stack, Tree
from sim.transport.jit import helper, kernel, maker, routine, variable
from sim.transport.tree_lanes import (
    ACROSS,
    CLEARS,
    CORNER,
    EDGES,
    FIRST,
    FOUND,
    HALF,
    LEAST,
    LIMIT,
    NAMES,
    OWN,
    PAD,
    WAITING,
    call_piece,
    call_place,
    call_ray,
    first_of,
    open_node,
    outside,
    prune,
    set_ray,
    test_leaf,
)

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
ENDED, FIRST_LEAF = 0, -1
SOON = 16
"""Memory is asked for a ray so many rays before it sets out."""
NEAR_BY, LATER = 32_768, 16
"""Where there are more pieces than the processor keeps near, one is looked at so many rays after it was found, when
memory has brought it."""


class Rays(NamedTuple):
    """Many rays, and what they hit.

    ``origins`` [m], ``directions`` (n, 3). ``leaving`` (n,): triangle on which each starts, MISS if that is not known.
    ``distance`` [m], ``triangle`` (n,): filled as `closest_hit` returns.
    """

    origins: F64
    directions: F64
    leaving: I64
    distance: F64
    triangle: I64


@maker
def new_stack() -> Stack:
    """Return scratch for walks through a tree, one after the other."""
    return Stack(
        np.zeros(32, dtype=np.float32),
        np.zeros(16, dtype=np.int64),
        np.zeros(16),
        np.zeros(LANES, dtype=np.float32),
        np.zeros(LANES, dtype=np.float32),
        np.zeros(_STACK, dtype=np.int32),
        np.zeros(_STACK, dtype=np.float32),
    )


@helper
def _distance(piece: F64, o: F64, d: F64) -> float:
    """Return how far along a ray [m] the plane of a piece is, infinite for a ray that runs along it."""
    x, y, z = piece[CORNER] - o[0], piece[CORNER + 1] - o[1], piece[CORNER + 2] - o[2]
    e1x, e1y, e1z = piece[EDGES], piece[EDGES + 1], piece[EDGES + 2]
    e2x, e2y, e2z = piece[EDGES + 3], piece[EDGES + 4], piece[EDGES + 5]
    nx, ny, nz = e1y * e2z - e1z * e2y, e1z * e2x - e1x * e2z, e1x * e2y - e1y * e2x
    along = d[0] * nx + d[1] * ny + d[2] * nz
    return (x * nx + y * ny + z * nz) / along if along != 0.0 else np.inf


@helper
def look_at(tree: Tree, row: int, o: F64, d: F64, far: float, found: int) -> tuple[float, int]:
    """Return distance and triangle of the nearest hit after looking at one more piece in double precision."""
    piece = tree.piece[row]
    e1x, e1y, e1z = piece[EDGES], piece[EDGES + 1], piece[EDGES + 2]
    e2x, e2y, e2z = piece[EDGES + 3], piece[EDGES + 4], piece[EDGES + 5]
    px, py, pz = d[1] * e2z - d[2] * e2y, d[2] * e2x - d[0] * e2z, d[0] * e2y - d[1] * e2x
    determinant = e1x * px + e1y * py + e1z * pz
    if determinant == 0.0:
        return far, found
    over = 1.0 / determinant
    sx, sy, sz = o[0] - piece[CORNER], o[1] - piece[CORNER + 1], o[2] - piece[CORNER + 2]
    u = (sx * px + sy * py + sz * pz) * over
    qx, qy, qz = sy * e1z - sz * e1y, sz * e1x - sx * e1z, sx * e1y - sy * e1x
    v = (d[0] * qx + d[1] * qy + d[2] * qz) * over
    t, rest = _distance(piece, o, d), 1.0 - u - v
    second = int(tree.names[row, NAMES + 1])
    # A parallelogram ends where u or v is one, a triangle where their sum is.
    inside = min(min(u, v), rest if second == MISS else 1.0 - max(u, v))
    # What is not a number is no hit.
    if inside < -EDGE or not NEAR < t < far + TIE:
        return far, found
    # An index instead of a condition: nobody could guess which half it is.
    triangle = int(tree.names[row, NAMES + (int(rest <= EDGE) & int(second != MISS))])
    if abs(rest) <= EDGE:
        triangle = max(int(tree.names[row, NAMES]), second)
    if t < far - TIE or triangle > found if found != MISS else t < far:
        return min(far, t), triangle
    return far, found


@routine
def _look_closely(tree: Tree, waiting: int, row: int, o: F64, d: F64, far: float, found: int) -> tuple[float, int, int]:
    """Return distance and triangle of the nearest hit after one more piece, and the piece that still waits, if any."""
    # What the ray leaves, or what a shadow ray goes to, is told from its plane alone.
    if not NEAR < _distance(tree.piece[row], o, d) < far + TIE:
        return far, found, waiting
    if waiting != MISS:
        far, found = look_at(tree, waiting, o, d, far, found)
    far, found = look_at(tree, row, o, d, far, found)
    return far, found, variable(MISS)


@routine
def entry(frame: F64, o: F64, d: F64) -> float:
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
    return entry(frame, o, d) if outside(frame, o) else 0.0


@helper
def set_out(tree: Tree, o: F64, d: F64, far: float, walk: Stack, leaving: int) -> int:
    """Let a ray set out; return the place on the stack of what it visits first. Parameters as in `closest_hit`."""
    exact, state = walk.exact, walk.state
    shift = entry_shift(tree.frame, o, d)
    exact[8], exact[9] = far, shift
    state[WAITING], state[FOUND] = MISS, MISS
    state[OWN] = tree.place[leaving] if leaving >= 0 else MISS
    if shift >= far:
        return ENDED
    set_ray(tree.frame, o, d, shift, walk)
    walk.ray[PAD] = np.float32(TIE + FOUR_ROUNDINGS * tree.frame[6])
    _narrow(tree, walk)
    # The root, if there is one, and above it the largest pieces.
    top = 2 if len(tree.child) > 0 else 1
    walk.reference[1], walk.distance[1] = 0, np.float32(0.0)
    walk.reference[top], walk.distance[top] = FIRST_LEAF, np.float32(0.0)
    return top


@helper
def _narrow(tree: Tree, walk: Stack) -> None:
    """Bound the search by the nearest hit so far."""
    rest, pad = np.float32(min(walk.exact[8] - walk.exact[9], tree.frame[6])), walk.ray[PAD]
    walk.ray[LEAST], walk.ray[LIMIT] = rest - pad, rest + pad


@helper
def _settle(tree: Tree, walk: Stack, may: int, top: int) -> int:
    """Put the pieces of a leaf that may be hit in order, and return the place of what is to be visited next.

    One piece may wait that is surely hit and nearest so far.
    """
    ray, state, exact = walk.ray, walk.state, walk.exact
    clears, first, pad = state[CLEARS], state[FIRST], ray[PAD]
    while may != 0:
        lane = first_of(may)
        may &= may - 1
        low, high = walk.low[lane], walk.high[lane]
        if low > ray[LIMIT]:
            continue
        if clears >> lane & 1 and low > pad and high < ray[LEAST]:
            state[WAITING], ray[LEAST], ray[LIMIT] = first + lane, low - pad, high + pad
            state[HALF] = state[ACROSS] >> lane & 1
            call_piece(tree, first + lane)
            continue
        exact[8], state[FOUND], state[WAITING] = _look_closely(
            tree, state[WAITING], first + lane, exact[:3], exact[4:7], exact[8], state[FOUND]
        )
        if state[WAITING] == MISS:
            _narrow(tree, walk)
    return prune(walk, top, ray[LIMIT]) if top > 1 else top


@helper
def step(tree: Tree, walk: Stack, top: int) -> int:
    """Visit the node or leaf at a place on the stack; return the place of the next, ENDED below the first."""
    # A place without a sign is not looked at for being counted from the end.
    reference = walk.reference[np.uint64(top)]
    if reference >= 0:
        return open_node(tree, reference, walk, top)
    may = test_leaf(tree, -reference - 1, walk)
    return _settle(tree, walk, may, top - 1) if may != 0 else top - 1


@helper
def arrive(tree: Tree, walk: Stack) -> tuple[float, int]:
    """Return what `closest_hit` does, of a walk that has come to its end."""
    state, exact = walk.state, walk.exact
    if state[WAITING] != MISS:
        # It is surely hit and nearer than all else, so neither its edges nor ties are looked at.
        row = state[WAITING]
        return _distance(tree.piece[row], exact[:3], exact[4:7]), int(tree.names[row, NAMES + state[HALF]])
    return exact[8], state[FOUND]


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
    top = set_out(tree, o, d, far, stack, leaving)
    while top != ENDED:
        top = step(tree, stack, top)
    return arrive(tree, stack)


@routine
def next_hit(tree: Tree, o: F64, d: F64, far: float, stack: Stack, leaving: int) -> tuple[float, int]:
    """Return what `closest_hit` returns, by a call instead of a copy of its code: less to compile."""
    return closest_hit(tree, o, d, far, stack, leaving)


@kernel
def closest_hits(tree: Tree, origins: F64, directions: F64, distance: F64, triangle: I64) -> None:
    """Fill distance and triangle of the first hit of many rays (infinite and MISS where there is none)."""
    stack = new_stack()
    for row in range(len(origins)):
        distance[row], triangle[row] = next_hit(tree, origins[row], directions[row], np.inf, stack, variable(MISS))


@helper
def _write_down(tree: Tree, walk: Stack, later: bool, row: int, rays: Rays) -> None:
    """Write down what `arrive` returns, or a code below MISS for a piece that is to be looked at later."""
    state = walk.state
    if later and state[WAITING] != MISS:
        rays.triangle[row] = MISS - 1 - 2 * state[WAITING] - state[HALF]
    else:
        rays.distance[row], rays.triangle[row] = arrive(tree, walk)


@helper
def _make_up(tree: Tree, row: int, rays: Rays) -> None:
    """Look at what was put off of a ray, if anything."""
    code = MISS - 1 - rays.triangle[row]
    if code >= 0:
        piece = code >> 1
        rays.distance[row] = _distance(tree.piece[piece], rays.origins[row], rays.directions[row])
        rays.triangle[row] = int(tree.names[piece, NAMES + (code & 1)])


@helper
def _set_out(tree: Tree, rays: Rays, row: int, walk: Stack) -> int:
    """Let one of many rays set out, see `set_out`."""
    return set_out(tree, rays.origins[row], rays.directions[row], np.inf, walk, rays.leaving[row])


@helper
def _take_turn(
    tree: Tree, rays: Rays, walk: Stack, top: int, row: int, following: int, busy: int
) -> tuple[int, int, int]:
    """Go a step on with a ray's walk, or let the ray that follows set out; return top, row and what follows then.

    `busy` is the row of the ray whose walk takes the other turns. At the end of all what follows is beyond their count.
    """
    if top != ENDED:
        return step(tree, walk, top), row, following
    count, later = len(rays.leaving), len(tree.piece) > NEAR_BY
    _write_down(tree, walk, later, row, rays)
    if following == count:
        return top, row, count + 1
    row, following = following, following + 1
    call_place(tree, rays.leaving[min(following, count - 1)])
    call_ray(rays.origins, rays.directions, following + SOON)
    top = _set_out(tree, rays, row, walk)
    if later and following > LATER and following - LATER != busy:
        _make_up(tree, following - LATER, rays)
    return top, row, following


@routine
def next_hits_of(tree: Tree, rays: Rays, one: Stack, two: Stack) -> None:
    """Do what `closest_hits` does for rays that start on triangles, two of which are under way at a time.

    With more the processor guesses the outcome of branches less well, and gains little even where memory is far.
    """
    count, later = len(rays.leaving), len(tree.piece) > NEAR_BY
    first, second, following = 0, min(1, count - 1), min(2, count)
    if count == 0:
        return
    top, other = _set_out(tree, rays, first, one), _set_out(tree, rays, second, two)
    while True:
        top, first, following = _take_turn(tree, rays, one, top, first, following, second)
        if following > count:
            break
        other, second, following = _take_turn(tree, rays, two, other, second, following, first)
        if following > count:
            break
    while top != ENDED:
        top = step(tree, one, top)
    while other != ENDED:
        other = step(tree, two, other)
    _write_down(tree, one, later, first, rays)
    _write_down(tree, two, later, second, rays)
    for row in range(count if later else 0):
        _make_up(tree, row, rays)


@kernel
def next_hits(tree: Tree, origins: F64, directions: F64, leaving: I64, distance: F64, triangle: I64) -> None:
    """Do what `closest_hits` does for rays that start on triangles."""
    next_hits_of(tree, Rays(origins, directions, leaving, distance, triangle), new_stack(), new_stack())
