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


def _words(points: F64) -> npt.NDArray[np.uint64]:
    """Return a word for each point (n, 3), the same for the same bits."""
    # Adding zero turns -0 into 0.
    bits = np.ascontiguousarray(points + 0.0).view(np.uint64)
    bits = (bits ^ (bits >> np.uint64(29))) * _MIX
    words: npt.NDArray[np.uint64] = np.bitwise_xor.reduce(bits ^ (bits >> np.uint64(32)), axis=1)
    return words


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
def _is_longest(lengths: F64, row: int, side: int) -> bool:
    """Return whether no edge of a triangle is longer than the one across from a corner."""
    one, two, three = lengths[3 * row], lengths[3 * row + 1], lengths[3 * row + 2]
    return bool(lengths[3 * row + side] >= max(max(one, two), three))


@kernel
def _join(corners: F64, sums: F64, candidates: I64, far: float, longest: bool, lengths: F64, partner: I64) -> None:
    """Pair triangles over edges that follow each other in `candidates` and have one sum of ends.

    `sums`, `lengths` (n, 3): of the edge across from each corner. With `longest` edges count only if no other edge of
    their triangles is longer: halves of a rectangle meet there, and make the smallest box.
    """
    for at in range(len(candidates) - 1):
        row, side = candidates[at] // 3, candidates[at] % 3
        if partner[row] >= 0:
            continue
        for ahead in range(at + 1, min(at + 4, len(candidates))):
            other, across = candidates[ahead] // 3, candidates[ahead] % 3
            if other == row or partner[other] >= 0:
                continue
            off = 0.0
            for axis in range(3):
                total = sums[3 * row + side, axis]
                off = max(off, abs(total - sums[3 * other + across, axis]))
                off = max(off, abs(corners[row, side, axis] + corners[other, across, axis] - total))
            if off > far:
                continue
            if longest and not (_is_longest(lengths, row, side) and _is_longest(lengths, other, across)):
                continue
            if not _shared(corners, row, side, other, across):
                continue
            partner[row], partner[other] = 3 * other + across, 3 * row + side
            break


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
    count = len(corners)
    ends = corners[:, [1, 2, 0]], corners[:, [2, 0, 1]]
    sums = (ends[0] + ends[1]).reshape(-1, 3)
    lengths = np.ascontiguousarray(((ends[0] - ends[1]) ** 2).sum(axis=2).ravel())
    # A triangle without an area is no half of anything.
    area = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    real = np.repeat((area**2).sum(axis=1) > 0.0, 3)
    words = _words(sums)
    candidates = np.argsort(words, kind="stable")
    ordered = words[candidates]
    alike = np.zeros(3 * count, dtype=bool)
    alike[1:] = ordered[1:] == ordered[:-1]
    alike[:-1] |= alike[1:]
    candidates = np.ascontiguousarray(candidates[alike & real[candidates]])
    partner = np.full(count, -1)
    far = CLOSE * float(np.abs(corners).max())
    for longest in (True, False):
        _join(corners, sums, candidates, far, longest, lengths, partner)
    return partner
