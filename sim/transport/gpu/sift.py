"""What a ray meets: single precision sifts the pieces of a scene, double precision decides.

A piece that is surely hit and surely nearer than any before waits and is computed in double precision at the end. Any
that single precision cannot rule out or put in order waits with it.
"""

from typing import NamedTuple

import numpy as np

from sim.transport.arrays import I32
from sim.transport.gpu.memory import four_floats, high_word, inverse, low_word, product, two_floats
from sim.transport.gpu.rays import LEAST_SLOPE, NOTHING, CardRay, Line
from sim.transport.gpu.target import card_helper
from sim.transport.gpu.tree import AT_A_TIME, EDGES, LEAF_ROW, PIECE_ROW, CardTree
from sim.transport.tree_traverse import EDGE, MISS, NEAR, TIE

ONE = np.float32(1.0)
ZERO, ROW, NONE = np.int32(0), np.int32(1), np.int32(MISS)


class Sure(NamedTuple):
    """What single precision knows of the nearest hit.

    It lies between ``least`` and ``limit``; ``best`` is twice the row of its piece, and one more for the second of two
    triangles, unless it is one of ``unsure`` undecided ones.
    ``skipped`` is the piece that the ray leaves, or a number that is none's; ``pad`` and ``rounding`` bound errors of
    distances.
    """

    least: np.float32
    limit: np.float32
    best: np.int32
    unsure: np.int32
    skipped: np.int32
    pad: np.float32
    rounding: np.float32


class Sifted(NamedTuple):
    """What single precision says of a ray and a piece.

    It meets the piece's plane at a distance from ``low`` to ``high``. It is ``inner`` within the edges, as a share of
    an edge, and ``rest`` from the line between the two triangles, with less than nothing in the second, give or take
    ``slack``.
    """

    low: np.float32
    high: np.float32
    inner: np.float32
    slack: np.float32
    rest: np.float32


@card_helper
def nothing_yet(tree: CardTree, far: float, shift: float, skipped: np.int32) -> Sure:
    """Return what is known of hits before a distance, of a ray that starts at another."""
    pad, rounding, _, _ = four_floats(tree.grid, 4)
    way, widest = far - shift, tree.frame[6]
    rest = np.float32(way if way < widest else widest)
    return Sure(rest - pad, rest + pad, NONE, ZERO, skipped, pad, rounding)


@card_helper
def test_piece(tree: CardTree, row: np.int32, ray: CardRay, rounding: np.float32) -> Sifted:
    """Return what single precision says of a piece. `rounding` is the error of a distance at a right angle."""
    at = row * LEAF_ROW
    nx, ny, nz, n = four_floats(tree.leaves, at)
    ux, uy, uz, u0 = four_floats(tree.leaves, at + 4)
    vx, vy, vz, v0 = four_floats(tree.leaves, at + 8)
    change, triangle, _, _ = four_floats(tree.leaves, at + 12)
    steep = nx * ray.dx + ny * ray.dy + nz * ray.dz
    along = inverse(max(abs(steep), LEAST_SLOPE))
    height = n + nx * ray.ox + ny * ray.oy + nz * ray.oz
    t = (height if steep < NOTHING else -height) * along
    u = (u0 + ux * ray.ox + uy * ray.oy + uz * ray.oz) + t * (ux * ray.dx + uy * ray.dy + uz * ray.dz)
    v = (v0 + vx * ray.ox + vy * ray.oy + vz * ray.oz) + t * (vx * ray.dx + vy * ray.dy + vz * ray.dz)
    off, least, beyond = rounding * along, min(u, v), ONE - max(u, v)
    return Sifted(t - off, t + off, min(least, beyond - triangle * least), off * change, beyond - least)


@card_helper
def settle(row: np.int32, seen: Sifted, undecided: I32, sure: Sure) -> Sure:
    """Return what is known after one more piece."""
    best, count, least, limit = sure.best, sure.unsure, sure.least, sure.limit
    # The line between the halves of a parallelogram is an edge, too: it parts their names.
    surely = (min(seen.inner, abs(seen.rest)) > seen.slack) & (seen.low > sure.pad)
    if (seen.inner < -seen.slack) | (seen.high < NOTHING) | (seen.low > limit) | (row == sure.skipped):
        return sure
    if surely & (seen.high < least):
        best = np.int32(row + row + (ROW if seen.rest < NOTHING else ZERO))
        return Sure(seen.low - sure.pad, seen.high + sure.pad, best, count, sure.skipped, sure.pad, sure.rounding)
    undecided[count] = row
    if surely:
        least, limit = min(least, seen.low - sure.pad), min(limit, seen.high + sure.pad)
    return Sure(least, limit, best, np.int32(count + 1), sure.skipped, sure.pad, sure.rounding)


@card_helper
def sift_large(tree: CardTree, large: np.int32, ray: CardRay, undecided: I32, sure: Sure) -> Sure:
    """Return what is known after the pieces that are tested before the tree."""
    row = ZERO
    while row < large:
        one, other = test_piece(tree, row, ray, sure.rounding), test_piece(tree, row + ROW, ray, sure.rounding)
        sure = settle(row, one, undecided, sure)
        sure = settle(np.int32(row + ROW), other, undecided, sure)
        row = np.int32(row + AT_A_TIME)
    return sure


@card_helper
def _distance(tree: CardTree, row: np.int32, line: Line) -> tuple[float, float]:
    """Return how far along a ray [m] the plane of a piece is, as `sim.transport.tree_traverse` does, and its names."""
    at = row * PIECE_ROW
    x, y = two_floats(tree.piece, at)
    z, nx = two_floats(tree.piece, at + 2)
    ny, nz = two_floats(tree.piece, at + 4)
    names, _ = two_floats(tree.piece, at + 6)
    height = product(x - line.ox, y - line.oy, z - line.oz, nx, ny, nz)
    return height / product(line.dx, line.dy, line.dz, nx, ny, nz), names


@card_helper
def _exact(tree: CardTree, row: np.int32, line: Line, far: float, found: np.int32) -> tuple[float, np.int32]:
    """Return distance and triangle of the nearest hit after one more piece, as `sim.transport.tree_traverse` does."""
    at = row * PIECE_ROW
    x, y = two_floats(tree.piece, at)
    z, _ = two_floats(tree.piece, at + 2)
    e1x, e1y = two_floats(tree.piece, at + EDGES)
    e1z, e2x = two_floats(tree.piece, at + EDGES + 2)
    e2y, e2z = two_floats(tree.piece, at + EDGES + 4)
    dx, dy, dz = line.dx, line.dy, line.dz
    px, py, pz = dy * e2z - dz * e2y, dz * e2x - dx * e2z, dx * e2y - dy * e2x
    over = 1.0 / (e1x * px + e1y * py + e1z * pz)
    sx, sy, sz = line.ox - x, line.oy - y, line.oz - z
    u = (sx * px + sy * py + sz * pz) * over
    qx, qy, qz = sy * e1z - sz * e1y, sz * e1x - sx * e1z, sx * e1y - sy * e1x
    v = (dx * qx + dy * qy + dz * qz) * over
    rest = 1.0 - u - v
    t, names = _distance(tree, row, line)
    first, second = low_word(names), high_word(names)
    beyond = (1.0 - u < -EDGE) | (1.0 - v < -EDGE) if second != NONE else rest < -EDGE
    # What is not a number is no hit.
    if (u < -EDGE) | (v < -EDGE) | beyond | (not NEAR < t < far + TIE):
        return far, found
    triangle = first
    if second != NONE and rest <= EDGE:
        triangle = second if rest < -EDGE else max(first, second)
    if t < far - TIE or (triangle > found if found != NONE else t < far):
        return (t if t < far else far), triangle
    return far, found


@card_helper
def decide(
    tree: CardTree, line: Line, undecided: I32, sure: Sure, far: float, found: np.int32
) -> tuple[float, np.int32]:
    """Return distance and triangle of the nearest hit after the pieces that were left to double precision."""
    row, place = np.int32(sure.best >> 1), ZERO
    if (sure.best != NONE) & (sure.unsure == ZERO):
        # It is surely hit and nearer than all else, so neither its edges nor ties are looked at.
        far, names = _distance(tree, row, line)
        return far, high_word(names) if sure.best & ROW else low_word(names)
    while True:
        if row != NONE:
            far, found = _exact(tree, row, line, far, found)
        if place == sure.unsure:
            return far, found
        row, place = undecided[place], np.int32(place + ROW)
