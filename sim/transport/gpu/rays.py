"""A ray as the card holds it: as it came, for what decides, and in single precision about the scene's centre."""

from typing import NamedTuple

import numpy as np

from sim.transport import tree_traverse
from sim.transport.arrays import F64
from sim.transport.gpu.memory import four_floats, inverse, kept_float, scratch, two_floats
from sim.transport.gpu.target import card_helper, for_card
from sim.transport.gpu.tree import CardTree

NOTHING = np.float32(0.0)
LEAST_SLOPE = np.float32(1e-15)
LOW, HIGH = np.int32(0x7104), np.int32(0x7324)
"""What picks the two bytes in the middle from the lower or the upper half of a word of a node, and all others from
OFFSET of `sim.transport.gpu.traverse`."""

entry = for_card(tree_traverse.entry)
_three = scratch("float64", 3)


class Line(NamedTuple):
    """Origin and direction of a ray as it came."""

    ox: float
    oy: float
    oz: float
    dx: float
    dy: float
    dz: float


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


@card_helper
def _inverse(slope: np.float32) -> np.float32:
    size = max(abs(slope), LEAST_SLOPE)
    return -inverse(size) if slope < NOTHING else inverse(size)


@card_helper
def card_ray(tree: CardTree, line: Line, shift: float) -> CardRay:
    """Return a ray in single precision that starts a distance `shift` [m] along it."""
    ox = np.float32(line.ox + shift * line.dx - tree.frame[0])
    oy = np.float32(line.oy + shift * line.dy - tree.frame[1])
    oz = np.float32(line.oz + shift * line.dz - tree.frame[2])
    dx, dy, dz = kept_float(np.float32(line.dx)), kept_float(np.float32(line.dy)), kept_float(np.float32(line.dz))
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
def _outside(frame: F64, line: Line) -> bool:
    """Return whether a ray starts outside the box around all."""
    x, y = two_floats(frame, 0)
    z, half = two_floats(frame, 2)
    high, deep = two_floats(frame, 4)
    return (abs(line.ox - x) > half) | (abs(line.oy - y) > high) | (abs(line.oz - z) > deep)


@card_helper
def begin(frame: F64, line: Line) -> float:
    """Return how far along a ray its way through the scene begins.

    Rays from outside alone are written to arrays for it: what every ray writes, the card is slow to take.
    """
    if not _outside(frame, line):
        return 0.0
    o, d = _three(), _three()
    o[0], o[1], o[2] = line.ox, line.oy, line.oz
    d[0], d[1], d[2] = line.dx, line.dy, line.dz
    return entry(frame, o, d)
