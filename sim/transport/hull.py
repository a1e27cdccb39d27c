"""The hull around a receiver and a lamp: what lies outside it cannot lie between the two.

The hull is bounded by pairs of planes. Each pair has a direction, along which they lie as near as the corners of
receiver and lamp let them: any direction is right, and some cut off more than others. Most are square to lines that
touch both in a plan or an elevation (E. Haines, J. Wallace, "Shaft culling for efficient ray-cast radiosity",
Eurographics Workshop on Rendering 1991); some are square to the lamp's longest way.
"""

import math
from typing import NamedTuple

import numpy as np

from sim.transport.arrays import F64, Emitters
from sim.transport.jit import helper, maker, routine

DIRECTIONS = 24
FACING, BEFORE, ALONG = 15, 16, 17
"""Places of the receiver's normal, of a mirror's, and of the first direction square to the lamp's longest way."""
BOX = 8
MARGIN = 1e-9
"""The planes stand off this far [m], which is more than rounding."""


class Hull(NamedTuple):
    """Pairs of planes around a receiver and a lamp.

    ``axes`` (3, 24): x, y and z of unit vectors square to them; zero where there is no such pair. ``low``, ``high``
    (24,): where they lie along these [m]. ``box``, ``image`` (8, 3): corners around the lamp's lit faces, and their
    mirror images. ``frame`` (6, 3): the ways along which the lamp's box may lie, its longest first, then x, y, z.
    ``least``, ``most`` (2, 3): lowest and highest x, y and z of the receiver and of the lamp.
    """

    axes: F64
    low: F64
    high: F64
    box: F64
    image: F64
    frame: F64
    least: F64
    most: F64


@maker
def new_hull() -> Hull:
    """Return a hull around nothing yet."""
    return Hull(
        np.zeros((3, DIRECTIONS)),
        np.zeros(DIRECTIONS),
        np.zeros(DIRECTIONS),
        np.zeros((BOX, 3)),
        np.zeros((BOX, 3)),
        np.zeros((6, 3)),
        np.zeros((2, 3)),
        np.zeros((2, 3)),
    )


@helper
def _spread(emitters: Emitters, lamp: int, x: float, y: float, z: float) -> tuple[float, float]:
    """Return how far a lamp's lit faces reach along a unit vector, from and to [m]."""
    low, high = math.inf, -math.inf
    for row in range(emitters.first[lamp], emitters.first[lamp + 1]):
        o, one, two = emitters.corner[row], emitters.edge1[row], emitters.edge2[row]
        at = x * o[0] + y * o[1] + z * o[2]
        along, across = x * one[0] + y * one[1] + z * one[2], x * two[0] + y * two[1] + z * two[2]
        # The fourth corner, which a triangle lacks, only makes the box larger.
        low, high = (
            min(low, at + min(along, 0.0) + min(across, 0.0)),
            max(high, at + max(along, 0.0) + max(across, 0.0)),
        )
    return low, high


@helper
def _box_along(emitters: Emitters, lamp: int, frame: F64, box: F64) -> float:
    """Set box (8, 3) to corners around a lamp along three unit vectors (3, 3); return the sum of its edges [m]."""
    size = 0.0
    for corner in range(BOX):
        box[corner, 0], box[corner, 1], box[corner, 2] = 0.0, 0.0, 0.0
    for way in range(3):
        low, high = _spread(emitters, lamp, frame[way, 0], frame[way, 1], frame[way, 2])
        size += high - low
        for corner in range(BOX):
            for axis in range(3):
                box[corner, axis] += (high if corner >> way & 1 else low) * frame[way, axis]
    return size


@helper
def _unit(frame: F64, way: int, x: float, y: float, z: float) -> None:
    length = math.sqrt(x * x + y * y + z * z)
    frame[way, 0], frame[way, 1], frame[way, 2] = x / length, y / length, z / length


@routine
def set_lamp(emitters: Emitters, lamp: int, hull: Hull) -> None:
    """Set the hull's frame, and its box to corners around all of a lamp's lit faces.

    The box lies along the longest edge of a face, which is the axis of a tube and a side of a panel, or along x, y and
    z where that makes a smaller one.
    """
    frame, longest, found, swapped = hull.frame, 0.0, emitters.first[lamp], False
    for row in range(emitters.first[lamp], emitters.first[lamp + 1]):
        one, two = 0.0, 0.0
        for axis in range(3):
            one, two = one + emitters.edge1[row, axis] ** 2, two + emitters.edge2[row, axis] ** 2
        if max(one, two) > longest:
            longest, found, swapped = max(one, two), row, two > one
    edge = emitters.edge2[found] if swapped else emitters.edge1[found]
    _unit(frame, 0, edge[0], edge[1], edge[2])
    normal = emitters.normal[found]
    _unit(frame, 1, normal[0], normal[1], normal[2])
    for axis in range(3):
        after, then = (axis + 1) % 3, (axis + 2) % 3
        frame[2, axis] = frame[0, after] * frame[1, then] - frame[0, then] * frame[1, after]
        frame[3 + axis, 0], frame[3 + axis, 1], frame[3 + axis, 2] = 0.0, 0.0, 0.0
        frame[3 + axis, axis] = 1.0
    upright = _box_along(emitters, lamp, frame[3:], hull.box)
    if _box_along(emitters, lamp, frame[:3], hull.box) > upright:
        _box_along(emitters, lamp, frame[3:], hull.box)


@helper
def _direct(axes: F64, place: int, x: float, y: float, z: float) -> None:
    """Set one of the directions to a unit vector, or to zero where there is none."""
    length = math.sqrt(x * x + y * y + z * z)
    over = 1.0 / length if length > 0.0 else 0.0
    axes[0, place], axes[1, place], axes[2, place] = x * over, y * over, z * over


@helper
def _reach(points: F64, count: int, which: int, hull: Hull) -> None:
    """Set a row of least and most to the lowest and highest x, y and z of some points."""
    for axis in range(3):
        hull.least[which, axis], hull.most[which, axis] = points[0, axis], points[0, axis]
        for row in range(1, count):
            hull.least[which, axis] = min(hull.least[which, axis], points[row, axis])
            hull.most[which, axis] = max(hull.most[which, axis], points[row, axis])


@helper
def _tangents(hull: Hull) -> None:
    """Set directions square to lines from corners of the receiver to corners of the lamp in plan and elevations."""
    place, least, most = 3, hull.least, hull.most
    for axis in range(3):
        first, second = (axis + 1) % 3, (axis + 2) % 3
        for turn in range(4):
            end, top = (most if turn & 1 else least), (most if turn & 2 else least)
            along, up = end[1, first] - end[0, first], top[1, second] - top[0, second]
            length = math.sqrt(along * along + up * up)
            over = 1.0 / length if length > 0.0 else 0.0
            hull.axes[axis, place], hull.axes[first, place] = 0.0, -up * over
            hull.axes[second, place] = along * over
            place += 1


@routine
def enclose(hull: Hull, place: F64, box: F64, longest: F64, across: F64) -> None:
    """Set the planes of a hull around a receiver and a lamp.

    Parameters
    ----------
    hull : Hull
    place : (5, 3) float
        The receiver's corners and its normal, see `sim.transport.pieces`.
    box : (8, 3) float
        Corners around the lamp, or its image.
    longest, across : (3,) float
        The lamp's longest way; the normal of a mirror between, or zeros.
    """
    axes, low, high = hull.axes, hull.low, hull.high
    _reach(place, 4, 0, hull)
    _reach(box, BOX, 1, hull)
    for axis in range(3):
        _direct(axes, axis, 0.0, 0.0, 0.0)
        axes[axis, axis] = 1.0
    _tangents(hull)
    _direct(axes, FACING, place[4, 0], place[4, 1], place[4, 2])
    _direct(axes, BEFORE, across[0], across[1], across[2])
    for turn in range(4):
        x, y, z = 0.0, 0.0, 0.0
        for corner in range(BOX):
            x, y, z = x + box[corner, 0] / BOX, y + box[corner, 1] / BOX, z + box[corner, 2] / BOX
        x, y, z = x - place[turn, 0], y - place[turn, 1], z - place[turn, 2]
        _direct(
            axes,
            ALONG + turn,
            longest[1] * z - longest[2] * y,
            longest[2] * x - longest[0] * z,
            longest[0] * y - longest[1] * x,
        )
    for k in range(DIRECTIONS):
        low[k], high[k] = math.inf, -math.inf
    for row in range(4 + BOX):
        point = place[row] if row < 4 else box[row - 4]
        for k in range(DIRECTIONS):
            at = axes[0, k] * point[0] + axes[1, k] * point[1] + axes[2, k] * point[2]
            low[k], high[k] = min(low[k], at), max(high[k], at)
    for k in range(DIRECTIONS):
        low[k], high[k] = low[k] - MARGIN, high[k] + MARGIN


@routine
def misses_box(hull: Hull, x: float, y: float, z: float, hx: float, hy: float, hz: float) -> bool:
    """Return whether a box about (x, y, z) of half size (hx, hy, hz) lies outside a hull for sure."""
    axes, apart = hull.axes, 0
    for k in range(DIRECTIONS):
        middle = axes[0, k] * x + axes[1, k] * y + axes[2, k] * z
        half = abs(axes[0, k]) * hx + abs(axes[1, k]) * hy + abs(axes[2, k]) * hz
        apart |= int(middle - half > hull.high[k]) | int(middle + half < hull.low[k])
    return apart != 0


@routine
def misses_piece(hull: Hull, piece: F64, whole: bool) -> bool:
    """Return whether a triangle, or a parallelogram, lies outside a hull for sure; its corner and edges come first."""
    axes, apart, both = hull.axes, 0, 1.0 if whole else 0.0
    for k in range(DIRECTIONS):
        at = axes[0, k] * piece[0] + axes[1, k] * piece[1] + axes[2, k] * piece[2]
        one = axes[0, k] * piece[3] + axes[1, k] * piece[4] + axes[2, k] * piece[5]
        two = axes[0, k] * piece[6] + axes[1, k] * piece[7] + axes[2, k] * piece[8]
        # The fourth corner of a parallelogram; for a triangle the first one again.
        far = both * (one + two)
        lowest, highest = min(min(one, two), min(far, 0.0)), max(max(one, two), max(far, 0.0))
        apart |= int(at + lowest > hull.high[k]) | int(at + highest < hull.low[k])
    return apart != 0
