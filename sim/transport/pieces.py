"""Which pieces of a lamp a receiver looks at: more often those that are near, before it, and turned to it.

The shares are estimates from centres alone, good enough to draw by; the estimate of light stays true for any shares
above zero. A piece is left out only where no point of it can shine on any point of the receiver.
"""

import math
from typing import NamedTuple

import numpy as np

from sim.transport.arrays import F64, I64, Emitters, Receivers
from sim.transport.jit import helper, maker, routine

START, STEP, CENTRE, HALF, SHARE, PLACE, ORDER, COLUMNS = 0, 2, 4, 7, 8, 9, 10, 11
"""Columns of the table of pieces: where a piece begins on its face's two edges, how much of them it spans, its centre,
half its diagonal, its share of the lamp's area, its place in the order of `sim.transport.lamp_tree`, and the number of
the piece that stands at this row's place there. In that order neighbours follow one another, so that evenly spread
numbers are spread evenly over the lamp. A lamp without pieces is looked at as a whole."""

LEAST_COSINE = 0.1
"""Pieces seen edge-on count as if turned by this cosine, since parts of them or of the receiver see more."""


@helper
def place_receiver(receivers: Receivers, receiver: int, place: F64) -> None:
    """Set place (5, 3) to a receiver's four corners and its normal."""
    for axis in range(3):
        o, u, v = receivers.origin[receiver, axis], receivers.edge_u[receiver, axis], receivers.edge_v[receiver, axis]
        place[0, axis], place[1, axis], place[2, axis], place[3, axis] = o, o + u, o + v, o + u + v
        place[4, axis] = receivers.normal[receiver, axis]


@helper
def mirror_place(place: F64, point: F64, across: F64, image: F64) -> None:
    """Set image to a place (5, 3) behind a plane mirror: looking from there at a lamp is looking at its image."""
    for corner in range(5):
        height = 0.0
        for axis in range(3):
            height += (place[corner, axis] - (point[axis] if corner < 4 else 0.0)) * across[axis]
        for axis in range(3):
            image[corner, axis] = place[corner, axis] - 2.0 * height * across[axis]


@routine
def weigh_pieces(emitters: Emitters, lamp: int, place: F64, shares: F64) -> float:
    """Fill cumulated shares of a lamp's pieces as seen from a place (5, 3); return 0 where none can be seen.

    `shares` is as long as the lamp has pieces, or longer.
    """
    table = emitters.piece
    first, last = emitters.piece_first[lamp], emitters.piece_first[lamp + 1]
    mx, my, mz = (
        0.5 * (place[0, 0] + place[3, 0]),
        0.5 * (place[0, 1] + place[3, 1]),
        0.5 * (place[0, 2] + place[3, 2]),
    )
    reach = math.sqrt((place[0, 0] - mx) ** 2 + (place[0, 1] - my) ** 2 + (place[0, 2] - mz) ** 2)
    total = 0.0
    for turn in range(last - first):
        piece = first + int(table[first + turn, ORDER])
        row = emitters.piece_row[piece]
        front, above = -math.inf, -math.inf
        for corner in range(4):
            in_front, over = 0.0, 0.0
            for axis in range(3):
                gap = place[corner, axis] - table[piece, CENTRE + axis]
                in_front += gap * emitters.normal[row, axis]
                over -= gap * place[4, axis]
            front, above = max(front, in_front), max(above, over)
        above += table[piece, HALF]
        if front > 0.0 and above > 0.0:
            dx, dy, dz = (
                mx - table[piece, CENTRE],
                my - table[piece, CENTRE + 1],
                mz - table[piece, CENTRE + 2],
            )
            near = 0.5 * (reach + table[piece, HALF])
            distance2 = max(dx * dx + dy * dy + dz * dz, near * near)
            distance = math.sqrt(distance2)
            cosines = min(1.0, max(front / distance, LEAST_COSINE)) * min(1.0, max(above / distance, LEAST_COSINE))
            total += table[piece, SHARE] * cosines / distance2
        shares[turn] = total
    if total > 0.0:
        for piece in range(last - first):
            shares[piece] /= total
    return total


class Pieces(NamedTuple):
    """A lamp's pieces as a receiver sees them, straight and behind each mirror, by ways (1 + mirrors).

    ``shares`` (ways, p): cumulated shares. ``guide`` (ways, p): for evenly spaced numbers from 0 to 1, where to begin
    to look for them among the shares. ``table`` (p, 10): a corner of each piece, its two edges, its share of the lamp's
    area, in the order of the shares; ``row`` (p,): its face among the emitters.
    """

    shares: F64
    guide: I64
    table: F64
    row: I64


@maker
def new_pieces(pieces: int, ways: int) -> Pieces:
    """Return room for a lamp's pieces."""
    room = max(1, pieces)
    return Pieces(
        np.zeros((ways, room)),
        np.zeros((ways, room), dtype=np.int64),
        np.zeros((room, 10)),
        np.zeros(room, dtype=np.int64),
    )


@routine
def set_pieces(emitters: Emitters, lamp: int, pieces: Pieces) -> None:
    """Fill the table of a lamp's pieces."""
    first, last = emitters.piece_first[lamp], emitters.piece_first[lamp + 1]
    for place in range(last - first):
        piece = emitters.piece[first + int(emitters.piece[first + place, ORDER])]
        row = emitters.piece_row[first + int(emitters.piece[first + place, ORDER])]
        pieces.row[place], own = row, pieces.table[place]
        for axis in range(3):
            one, two = emitters.edge1[row, axis], emitters.edge2[row, axis]
            own[axis] = emitters.corner[row, axis] + piece[START] * one + piece[START + 1] * two
            own[3 + axis], own[6 + axis] = piece[STEP] * one, piece[STEP + 1] * two
        own[9] = piece[SHARE]


@routine
def set_guide(pieces: Pieces) -> None:
    """Fill the guides to the shares."""
    for way in range(len(pieces.shares)):
        shares, guide, place = pieces.shares[way], pieces.guide[way], 0
        for step in range(len(guide)):
            while place + 1 < len(shares) and shares[place] * len(guide) <= step:
                place += 1
            guide[step] = place


@helper
def draw_piece(
    emitters: Emitters, lamp: int, pieces: Pieces, way: int, u0: float, u1: float, u2: float, point: F64
) -> tuple[int, float]:
    """Do what `sample_piece` does, for pieces and a way."""
    shares, last = pieces.shares[way], len(pieces.row) - 1
    place = pieces.guide[way, int(u0 * pieces.guide.shape[1])]
    while place < last and shares[place] <= u0:
        place += 1
    own = pieces.table[place]
    for axis in range(3):
        point[axis] = own[axis] + u1 * own[3 + axis] + u2 * own[6 + axis]
    drawn = shares[place] - (shares[place - 1] if place > 0 else 0.0)
    return pieces.row[place], own[9] / drawn


@helper
def sample_piece(
    emitters: Emitters, lamp: int, shares: F64, u0: float, u1: float, u2: float, point: F64
) -> tuple[int, float]:
    """Set `point` to a point of a lamp, its piece drawn by cumulated shares.

    Returns
    -------
    row : int
        The point's face among the emitters.
    weight : float
        Density of points uniform over the lamp over the density of this one.
    """
    table = emitters.piece
    first, last = emitters.piece_first[lamp], emitters.piece_first[lamp + 1]
    low, high = 0, last - first - 1
    while low < high:
        middle = (low + high) // 2
        if shares[middle] > u0:
            high = middle
        else:
            low = middle + 1
    piece = first + int(table[first + low, ORDER])
    row = emitters.piece_row[piece]
    s = table[piece, START] + u1 * table[piece, STEP]
    t = table[piece, START + 1] + u2 * table[piece, STEP + 1]
    for axis in range(3):
        point[axis] = emitters.corner[row, axis] + s * emitters.edge1[row, axis] + t * emitters.edge2[row, axis]
    drawn = shares[low] - (shares[low - 1] if low > 0 else 0.0)
    return row, table[piece, SHARE] / drawn
