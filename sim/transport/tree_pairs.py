"""Which triangles are the two halves of a parallelogram: a tree over those has half the leaves.

Sides of boxes, of prisms and of bent sheets, facets of tubes and leaves of plants all come as such halves.
"""

import numpy as np
import numpy.typing as npt

from sim.transport.arrays import F64, I64
from sim.transport.jit import helper, kernel

CLOSE = 2.0**-50
"""How far a fourth corner may be off, over the largest coordinate: what rounding makes of it."""
_MIX = np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], dtype=np.uint64)
"""Odd numbers that spread the bits of three coordinates over one word."""


def _words(corners: F64) -> npt.NDArray[np.uint64]:
    """Return a word for the edge across from each corner, (3 n,): one where the sum of its ends has the same bits."""
    words = np.zeros((len(corners), 3), dtype=np.uint64)
    for axis in range(3):
        one, two, three = corners[:, :, axis].T
        # Adding zero turns -0 into 0.
        bits = (np.stack([two + three, three + one, one + two], axis=1) + 0.0).view(np.uint64)
        bits ^= bits >> np.uint64(29)
        bits *= _MIX[axis]
        words ^= bits ^ (bits >> np.uint64(32))
    return words.ravel()


def _together(words: npt.NDArray[np.uint64]) -> I64:
    """Return the rows of words that others are the same as, those next to each other, and in their order within."""
    # Rows take the place of the lowest bits: numbers are sorted many times sooner than rows by them.
    low = np.uint64(len(words)).item().bit_length()
    rows = np.uint64((1 << low) - 1)
    ordered = np.sort((words & ~rows) | np.arange(len(words), dtype=np.uint64))
    same = (ordered[1:] ^ ordered[:-1]) <= rows
    alike = np.concatenate([[False], same]) | np.concatenate([same, [False]])
    return (ordered[alike] & rows).astype(np.int64)


@helper
def _has_area(corners: F64, row: int) -> bool:
    """Return whether a triangle has an area; without, it is no half of anything."""
    one, two, three = corners[row]
    ux, uy, uz = two[0] - one[0], two[1] - one[1], two[2] - one[2]
    vx, vy, vz = three[0] - one[0], three[1] - one[1], three[2] - one[2]
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    return bool(nx * nx + ny * ny + nz * nz > 0.0)


@helper
def _is_half(corners: F64, row: int, side: int, other: int, across: int, far: float) -> bool:
    """Return whether two triangles are halves of a parallelogram that is cut across from two of their corners."""
    off = 0.0
    for axis in range(3):
        total = corners[row, (side + 1) % 3, axis] + corners[row, (side + 2) % 3, axis]
        end = corners[other, (across + 1) % 3, axis] + corners[other, (across + 2) % 3, axis]
        off = max(off, abs(total - end), abs(corners[row, side, axis] + corners[other, across, axis] - total))
    return off <= far and _shared(corners, row, side, other, across)


@helper
def _shared(corners: F64, row: int, side: int, other: int, across: int) -> bool:
    """Return whether the edges across from two corners have the same ends, in either order."""
    first, second = corners[row, (side + 1) % 3], corners[row, (side + 2) % 3]
    third, fourth = corners[other, (across + 1) % 3], corners[other, (across + 2) % 3]
    same, turned = True, True
    for axis in range(3):
        same = same and first[axis] == third[axis] and second[axis] == fourth[axis]
        turned = turned and first[axis] == fourth[axis] and second[axis] == third[axis]
    return same or turned


@helper
def _square(corners: F64, row: int, side: int) -> float:
    """Return the squared length of the edge across from a corner [m2]."""
    first, second = corners[row, (side + 1) % 3], corners[row, (side + 2) % 3]
    x, y, z = first[0] - second[0], first[1] - second[1], first[2] - second[2]
    return float(x * x + y * y + z * z)


@helper
def _is_longest(corners: F64, row: int, side: int) -> bool:
    """Return whether no edge of a triangle is longer than the one across from a corner."""
    most = max(_square(corners, row, 0), _square(corners, row, 1), _square(corners, row, 2))
    return _square(corners, row, side) >= most


@kernel
def _find(corners: F64, candidates: I64, far: float, found: I64) -> int:
    """Fill pairs of edges (k, 2), as three times a triangle's row and a corner of it, where two could be joined.

    They are among edges that follow each other in `candidates`. Return how many there are.
    """
    count = 0
    for at in range(len(candidates) - 1):
        row, side = candidates[at] // 3, candidates[at] % 3
        if not _has_area(corners, row):
            continue
        for ahead in range(at + 1, min(at + 4, len(candidates))):
            other, across = candidates[ahead] // 3, candidates[ahead] % 3
            if other == row or not _is_half(corners, row, side, other, across, far) or not _has_area(corners, other):
                continue
            found[count, 0], found[count, 1] = candidates[at], candidates[ahead]
            count += 1
    return count


@kernel
def _join(corners: F64, pairs: I64, longest: bool, partner: I64) -> None:
    """Join triangles that are still alone by pairs of edges.

    With `longest` edges count only if no other edge of their triangles is longer: halves of a rectangle meet there, and
    make the smallest box.
    """
    for one, two in pairs:
        row, other = one // 3, two // 3
        if partner[row] >= 0 or partner[other] >= 0:
            continue
        if not longest or (_is_longest(corners, row, one % 3) and _is_longest(corners, other, two % 3)):
            partner[row], partner[other] = two, one


def partners(corners: F64) -> I64:
    """Return for each triangle the other half of a parallelogram and where that is cut, or -1.

    Parameters
    ----------
    corners : (n, 3 corners, 3) float [m]

    Returns
    -------
    partner : (n,) int
        ``3 row + corner``: the other half and its corner that both do not share.
    """
    candidates = _together(_words(corners))
    pairs = np.zeros((3 * len(candidates), 2), dtype=np.int64)
    pairs = pairs[: _find(corners, candidates, CLOSE * float(np.abs(corners).max()), pairs)]
    partner = np.full(len(corners), -1)
    for longest in (True, False):
        _join(corners, pairs, longest, partner)
    return partner
