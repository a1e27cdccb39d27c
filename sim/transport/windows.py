"""Windows: what is seen of a plane surface from a place, in mirrors or by other windows before it.

A window is a convex outline, (room, 3), in the plane of a surface. From a place behind it, light spreads in a pyramid,
and what that meets of a further surface is the next window.

References
----------
I. Sutherland, G. Hodgman, "Reentrant polygon clipping", Commun. ACM 17:32, 1974.
"""

import math

from sim.transport.arrays import F64
from sim.transport.jit import helper, routine

ROOM = 20
"""Corners of a window at most; one of more is given up."""
SAME = 1e-10
"""Corners nearer to each other than this [m] are one: no plane would lie through two of them and a place."""
NOTHING = 1e-12
"""A window that subtends less than this [sr] is none."""


@helper
def _square(o: F64, window: F64, first: int, second: int) -> tuple[float, float, float]:
    """Return a vector square to the plane through a place and two corners of a window."""
    ax, ay, az = window[first, 0] - o[0], window[first, 1] - o[1], window[first, 2] - o[2]
    bx, by, bz = window[second, 0] - o[0], window[second, 1] - o[1], window[second, 2] - o[2]
    return ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx


@helper
def _turn_sense(o: F64, window: F64, count: int) -> float:
    """Return 1 where the vectors of `_square` look into the pyramid, -1 where they look out of it."""
    x, y, z = 0.0, 0.0, 0.0
    for corner in range(count):
        nx, ny, nz = _square(o, window, corner, corner + 1 if corner + 1 < count else 0)
        x, y, z = x + nx, y + ny, z + nz
    inside = x * (window[0, 0] - o[0]) + y * (window[0, 1] - o[1]) + z * (window[0, 2] - o[2])
    return 1.0 if inside > 0.0 else -1.0


@routine
def extent(o: F64, window: F64, count: int) -> float:
    """Return about what a window subtends at a place [sr]."""
    x, y, z = 0.0, 0.0, 0.0
    px, py, pz = 0.0, 0.0, 0.0
    for step in range(count + 1):
        corner = step if step < count else 0
        dx, dy, dz = window[corner, 0] - o[0], window[corner, 1] - o[1], window[corner, 2] - o[2]
        over = 1.0 / math.sqrt(dx * dx + dy * dy + dz * dz + 1e-300)
        dx, dy, dz = dx * over, dy * over, dz * over
        if step > 0:
            x, y, z = x + py * dz - pz * dy, y + pz * dx - px * dz, z + px * dy - py * dx
        px, py, pz = dx, dy, dz
    return 0.5 * math.sqrt(x * x + y * y + z * z)


@helper
def _same(outline: F64, first: int, second: int) -> bool:
    gap = 0.0
    for axis in range(3):
        gap = max(gap, abs(outline[first, axis] - outline[second, axis]))
    return gap < SAME


@routine
def cut(outline: F64, count: int, nx: float, ny: float, nz: float, level: float, kept: F64) -> int:
    """Set kept to what of an outline lies before a plane; return its corners, 0 for none and for too many."""
    found, last = 0, count - 1
    before = nx * outline[last, 0] + ny * outline[last, 1] + nz * outline[last, 2] - level
    for corner in range(count):
        height = nx * outline[corner, 0] + ny * outline[corner, 1] + nz * outline[corner, 2] - level
        for turn in range(2):
            # Where the outline crosses the plane, then its corner.
            if (turn == 0 and (height > 0.0) == (before > 0.0)) or (turn == 1 and height <= 0.0):
                continue
            if found == ROOM:
                return 0
            share = before / (before - height) if turn == 0 else 1.0
            for axis in range(3):
                kept[found, axis] = outline[last, axis] + share * (outline[corner, axis] - outline[last, axis])
            if found == 0 or not _same(kept, found, found - 1):
                found += 1
        before, last = height, corner
    if found > 1 and _same(kept, found - 1, 0):
        found -= 1
    return found if found > 2 else 0


@routine
def cut_window(o: F64, window: F64, count: int, outline: F64, corners: int, spare: F64) -> int:
    """Cut an outline to what is seen of it from a place by a window; return how many corners are left.

    The result is in `outline`; `spare` is scratch as large.
    """
    sense = _turn_sense(o, window, count)
    for corner in range(count):
        nx, ny, nz = _square(o, window, corner, corner + 1 if corner + 1 < count else 0)
        nx, ny, nz = sense * nx, sense * ny, sense * nz
        corners = cut(outline, corners, nx, ny, nz, nx * o[0] + ny * o[1] + nz * o[2], spare)
        if corners == 0:
            return 0
        for row in range(corners):
            for axis in range(3):
                outline[row, axis] = spare[row, axis]
    return corners


@routine
def beam_holds(o: F64, window: F64, count: int, x: float, y: float, z: float, radius: float) -> bool:
    """Return whether a ball may reach into the pyramid from a place by a window."""
    sense = _turn_sense(o, window, count)
    for corner in range(count):
        nx, ny, nz = _square(o, window, corner, corner + 1 if corner + 1 < count else 0)
        height = sense * (nx * (x - o[0]) + ny * (y - o[1]) + nz * (z - o[2]))
        if height < -radius * math.sqrt(nx * nx + ny * ny + nz * nz):
            return False
    return True
