"""The tree of a lamp's pieces that `sim.transport.lamp_tree` walks down."""

import numpy as np

from sim.geometry.mesh import FloatArray, IntArray
from sim.transport.lamp_tree import AXIS, BELOW, CENTRE, COLUMNS, FIRST, HALF, SHARE, SPREAD
from sim.transport.pieces import CENTRE as PIECE_CENTRE
from sim.transport.pieces import SHARE as PIECE_SHARE


def lamp_forks(piece: FloatArray, extent: FloatArray, normal: FloatArray) -> tuple[FloatArray, IntArray]:
    """Return the forks of one lamp, (2 p, columns), and each piece's place in the order of the tree, (p,).

    Pieces are parted into halves by where they lie along the widest way of their centres, all forks of one depth at a
    time.

    Parameters
    ----------
    piece : (p, columns) float
        See `sim.transport.pieces`.
    extent : (p, 3) float [m]
        Half the size of the box about each.
    normal : (p, 3) float
    """
    forks, place = np.zeros((2 * len(piece), COLUMNS)), np.zeros(len(piece), dtype=np.int64)
    if not len(piece):
        return forks, place
    centre = piece[:, PIECE_CENTRE : PIECE_CENTRE + 3]
    order, row = np.arange(len(piece)), np.zeros(1, dtype=np.int64)
    first, count = np.zeros(1, dtype=np.int64), np.full(1, len(piece))
    free = 1
    while True:
        start = np.cumsum(count) - count
        forks[row, :BELOW] = _boxes(piece[order], extent[order], normal[order], start, count)
        wide = np.maximum.reduceat(centre[order], start) - np.minimum.reduceat(centre[order], start)
        forks[row, FIRST] = first
        ends = count == 1
        forks[row[ends], BELOW] = -order[start[ends]] - 1
        place[order[start[ends]]] = first[ends]
        if ends.all():
            return forks, place
        fork = np.repeat(np.arange(len(row)), count)
        along = np.take_along_axis(centre[order], wide.argmax(axis=1)[fork, None], axis=1)[:, 0]
        order = order[np.lexsort((along, fork))][~ends[fork]]
        row, first, count = row[~ends], first[~ends], count[~ends]
        below = free + 2 * np.arange(len(row))
        forks[row, BELOW] = below
        free += 2 * len(row)
        row = np.stack([below, below + 1], axis=1).ravel()
        half = count // 2
        first = np.stack([first, first + half], axis=1).ravel()
        count = np.stack([half, count - half], axis=1).ravel()


def _boxes(piece: FloatArray, extent: FloatArray, normal: FloatArray, start: IntArray, count: IntArray) -> FloatArray:
    """Return boxes, normals and shares of forks whose pieces stand one after the other, (fork, BELOW)."""
    boxes = np.zeros((len(start), BELOW))
    centre = piece[:, PIECE_CENTRE : PIECE_CENTRE + 3]
    low, high = np.minimum.reduceat(centre - extent, start), np.maximum.reduceat(centre + extent, start)
    mean = np.add.reduceat(normal, start) / count[:, None]
    boxes[:, CENTRE : CENTRE + 3], boxes[:, HALF : HALF + 3] = 0.5 * (low + high), 0.5 * (high - low)
    boxes[:, AXIS : AXIS + 3] = mean
    boxes[:, SPREAD : SPREAD + 3] = np.maximum.reduceat(np.abs(normal - np.repeat(mean, count, axis=0)), start)
    boxes[:, SHARE] = np.add.reduceat(piece[:, PIECE_SHARE], start)
    return boxes
