"""A point of a lamp for a place that is met on the way: a walk down a tree of the lamp's pieces.

Receivers weigh all pieces of a lamp once and for all, see `sim.transport.pieces`. Here each place is met once, and few
looks must do: at each fork the walk goes to one side by what either may send to the place, from its share of the lamp,
its distance, and the ways it and the place face. Such estimates are good enough to draw by; the estimate of light
stays true for any of them, since a side is given up only where no point of it can shine on the place.

References
----------
A. Conty Estevez, C. Kulla, "Importance sampling of many lights with adaptive tree splitting", Proc. ACM Comput. Graph.
Interact. Tech. 1(2), 2018.
"""

import math

from sim.transport.arrays import F64, Emitters, Model
from sim.transport.emission import sample_point
from sim.transport.jit import helper, routine
from sim.transport.pieces import PLACE, START, STEP
from sim.transport.shadow import reflect_point

CENTRE, HALF, AXIS, SPREAD, SHARE, BELOW, FIRST, COLUMNS = 0, 3, 6, 9, 12, 13, 14, 15
"""Columns of the table of forks: centre and half size of a box about some pieces, their mean normal and how far their
normals are from it along x, y and z, their share of the lamp's area, the row of the first of the two forks below
(counted from the lamp's first) or ``-piece - 1``, and the place of the first piece in the order of the tree."""

LEAST_COSINE = 0.1
"""As in `sim.transport.pieces`."""


@helper
def _worth(forks: F64, row: int, x: F64, normal: F64) -> float:
    """Return about what a fork's pieces send to a place; zero only where they can send nothing."""
    d2, r2, front, above = 0.0, 0.0, 0.0, 0.0
    for axis in range(3):
        gap, half, mean = x[axis] - forks[row, CENTRE + axis], forks[row, HALF + axis], forks[row, AXIS + axis]
        d2 += gap * gap
        r2 += half * half
        front += gap * mean + half * abs(mean) + forks[row, SPREAD + axis] * (abs(gap) + half)
        above += half * abs(normal[axis]) - gap * normal[axis]
    if front <= 0.0 or above < 0.0:
        return 0.0
    distance = math.sqrt(max(d2, r2))
    cosines = min(distance, max(front, LEAST_COSINE * distance)) * min(distance, max(above, LEAST_COSINE * distance))
    return forks[row, SHARE] * cosines / (distance * distance * distance * distance)


@routine
def sample_lamp(
    emitters: Emitters, lamp: int, x: F64, normal: F64, u0: float, u1: float, u2: float, point: F64
) -> tuple[int, float]:
    """Set `point` to a point of a lamp for a place x that faces along `normal`, or all ways if that is zero.

    Returns
    -------
    row : int
        The point's face among the emitters; -1 if nothing of the lamp can shine on the place.
    often : float
        Density of this point over that of points uniform over the lamp.
    """
    pieces = emitters.piece_first[lamp]
    if pieces == emitters.piece_first[lamp + 1]:
        return sample_point(emitters, lamp, u0, u1, u2, point), 1.0
    forks, start, at, chance = emitters.fork, 2 * pieces, 0, 1.0
    while forks[start + at, BELOW] >= 0.0:
        below = int(forks[start + at, BELOW])
        left, right = _worth(forks, start + below, x, normal), _worth(forks, start + below + 1, x, normal)
        if left + right <= 0.0:
            return -1, 0.0
        part = left / (left + right)
        if u0 < part:
            at, u0, chance = below, u0 / part, chance * part
        else:
            at, u0, chance = below + 1, (u0 - part) / (1.0 - part), chance * (1.0 - part)
    table, piece = emitters.piece, pieces + int(-forks[start + at, BELOW]) - 1
    row = emitters.piece_row[piece]
    s, t = table[piece, START] + u1 * table[piece, STEP], table[piece, START + 1] + u2 * table[piece, STEP + 1]
    for axis in range(3):
        point[axis] = emitters.corner[row, axis] + s * emitters.edge1[row, axis] + t * emitters.edge2[row, axis]
    return row, chance / forks[start + at, SHARE]


@helper
def behind_mirror(model: Model, mirror: int, x: F64, normal: F64, place: F64, facing: F64) -> None:
    """Set place and facing to a place and its normal behind a plane mirror; they may be the same arrays."""
    reflect_point(model, mirror, x, place)
    across = model.mirrors.normal[mirror]
    along = normal[0] * across[0] + normal[1] * across[1] + normal[2] * across[2]
    for axis in range(3):
        facing[axis] = normal[axis] - 2.0 * along * across[axis]


@helper
def _piece_at(emitters: Emitters, lamp: int, row: int, p: F64) -> int:
    """Return the piece of a lamp on which a point of a face lies."""
    low, high = emitters.piece_first[lamp], emitters.piece_first[lamp + 1]
    while low < high:
        middle = (low + high) // 2
        if emitters.piece_row[middle] < row:
            low = middle + 1
        else:
            high = middle
    aa, ab, bb, pa, pb = 0.0, 0.0, 0.0, 0.0, 0.0
    for axis in range(3):
        a, b, offset = emitters.edge1[row, axis], emitters.edge2[row, axis], p[axis] - emitters.corner[row, axis]
        aa, ab, bb, pa, pb = aa + a * a, ab + a * b, bb + b * b, pa + offset * a, pb + offset * b
    whole = aa * bb - ab * ab
    along, across = round(1.0 / emitters.piece[low, STEP]), round(1.0 / emitters.piece[low, STEP + 1])
    i = min(max(int((pa * bb - pb * ab) / whole * along), 0), along - 1)
    j = min(max(int((pb * aa - pa * ab) / whole * across), 0), across - 1)
    return int(low + i * across + j)


@routine
def lamp_often(emitters: Emitters, lamp: int, x: F64, normal: F64, row: int, p: F64) -> float:
    """Return `often` of `sample_lamp` at a point p on a face of a lamp."""
    pieces = emitters.piece_first[lamp]
    if pieces == emitters.piece_first[lamp + 1]:
        return 1.0
    place = emitters.piece[_piece_at(emitters, lamp, row, p), PLACE]
    forks, start, at, chance = emitters.fork, 2 * pieces, 0, 1.0
    while forks[start + at, BELOW] >= 0.0:
        below = int(forks[start + at, BELOW])
        left, right = _worth(forks, start + below, x, normal), _worth(forks, start + below + 1, x, normal)
        if left + right <= 0.0:
            return 0.0
        part = left / (left + right)
        if place < forks[start + below + 1, FIRST]:
            at, chance = below, chance * part
        else:
            at, chance = below + 1, chance * (1.0 - part)
    return chance / forks[start + at, SHARE]
