"""How many shadow rays and paths go with a count of photons, so that a run can go on where it stopped."""

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]

LEAST_PATHS = 4
LEAST_POINTS = 32
ENOUGH_POINTS = 1024
"""Shadow rays to scrambled points converge about as 1/n; beyond this, paths set the error and points grow slower."""


def path_counts(photons: int, effort: FloatArray) -> IntArray:
    """Return the paths of each gathered receiver that go with a count of photons: as many in all as photons.

    Parameters
    ----------
    photons : int
        Photons of one lamp in one replicate so far.
    effort : (q,) float
        Relative share of each receiver.
    """
    if photons == 0 or len(effort) == 0:
        return np.zeros(len(effort), dtype=np.int64)
    share = photons * effort / effort.sum()
    counts: IntArray = np.maximum(LEAST_PATHS, np.ceil(share).astype(np.int64))
    return counts


def point_counts(paths: IntArray) -> IntArray:
    """Return the points of the lamp that each receiver looks at, from its count of paths."""
    points = np.minimum(2 * paths, ENOUGH_POINTS + paths // 4)
    return np.where(paths > 0, np.maximum(LEAST_POINTS, points), 0)
