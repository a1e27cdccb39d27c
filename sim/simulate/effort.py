"""How many shadow rays and paths go with a count of photons, so that a run can go on where it stopped."""

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]

LEAST_PATHS = 4
LEAST_POINTS = 8
LEAST_CELL_POINTS = 1
ENOUGH_CELL_POINTS = 64
"""Cells are many, and each replicate looks afresh, so that few points in each are many in all."""
POINTS_A_PATH, POINTS_A_LINK = 2, 4
"""A look at the lamp takes a quarter of the time of a link, and leaves between the two make it vary as much; a path
takes longer and tells less."""
PHOTONS_A_BATCH = 64
"""Photons that are counted, to a batch of those that light places for links."""
LINKS_A_BATCH = 256
MOST_LINKS_A_BATCH = 32
"""Links of all receivers together, and of one: a batch lights about as many places."""
ENOUGH_POINTS = 1024
"""Shadow rays to scrambled points converge about as 1/n; beyond this, paths set the error and points grow slower."""


def path_counts(photons: int, effort: FloatArray) -> IntArray:
    """Return the paths of each gathered receiver that go with a count of photons: as many in all as photons.

    Parameters
    ----------
    photons : int
        Photons of one lamp in one replicate so far.
    effort : (q,) float
        Relative share of each receiver; none where photons cross it.
    """
    if photons == 0 or not effort.any():
        return np.zeros(len(effort), dtype=np.int64)
    share = np.ceil(photons * effort / effort.sum())
    counts: IntArray = np.where(effort > 0.0, np.maximum(LEAST_PATHS, share), 0).astype(np.int64)
    return counts


def batch_count(photons: int) -> int:
    """Return the batches of lit places that go with a count of photons."""
    return -(-photons // PHOTONS_A_BATCH)


def links_a_batch(effort: FloatArray) -> IntArray:
    """Return the links of each gathered receiver with every batch of lit places, (q,).

    Parameters
    ----------
    effort : (q,) float
        Relative share of each receiver; none where others bring the light.
    """
    if not effort.any():
        return np.zeros(len(effort), dtype=np.int64)
    share = np.clip(np.rint(LINKS_A_BATCH * effort / effort.sum()), 1, MOST_LINKS_A_BATCH)
    counts: IntArray = np.where(effort > 0.0, share, 0).astype(np.int64)
    return counts


def cell_point_count(photons: int, cells: int) -> int:
    """Return the points of the lamp that each cell looks at whose straight light is gathered."""
    if photons == 0 or cells == 0:
        return 0
    return max(LEAST_CELL_POINTS, min(photons // (2 * cells), ENOUGH_CELL_POINTS))


def point_counts(photons: int, paths: IntArray, links: IntArray, least: int = LEAST_POINTS) -> IntArray:
    """Return the points of the lamp that each receiver looks at, (q,), from the photons and its paths and links."""
    if photons == 0:
        return np.zeros_like(paths)
    own = POINTS_A_PATH * paths + POINTS_A_LINK * links
    paths = paths + links
    crossed = int((paths == 0).sum())
    shared = min(photons // (2 * max(1, crossed)), ENOUGH_POINTS)
    own = np.minimum(own, ENOUGH_POINTS + paths // 4)
    return np.maximum(least, np.where(paths > 0, own, shared))
