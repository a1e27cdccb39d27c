"""Straight light on the cells of surfaces: its pattern from rays to the lamp, its sum from photons.

Rays tell each cell's light well, photons their sum better still, since scrambled points over all of a lamp's directions
fill a wall evenly. So each replicate adds to its cells what its rays miss of its photons' sum, spread as the other
replicates' rays say. The pattern knows nothing of the replicate that it is used in, and the difference is zero in the
mean, so no cell is biased; and what arrives on a surface is again what the books of energy say.
"""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def balanced(
    by_rays: FloatArray, by_others: FloatArray, by_photons: FloatArray, area: FloatArray, first: IntArray
) -> FloatArray:
    """Return the light on the cells of some surfaces in one replicate, on each as much in all as its photons bring.

    Parameters
    ----------
    by_rays : (cell, band) float [any unit of power per m2]
        The replicate's estimate for each cell.
    by_others : (cell, band) float
        The sum of those of all other replicates.
    by_photons : (surface, band) float [the same unit, times m2]
        The replicate's estimates of the sum over the cells of each surface.
    area : (cell,) float [m2]
    first : (surface,) int
        The first cell of each surface; its others follow, up to the first of the next.

    Returns
    -------
    (cell, band) float
    """
    missing = by_photons - np.add.reduceat(by_rays * area[:, None], first)
    whole = np.add.reduceat(by_others * area[:, None], first)
    share = np.divide(missing, whole, out=np.zeros_like(whole), where=whole > 0.0)
    values = np.repeat(share, np.diff(first, append=len(area)), axis=0)
    values *= by_others
    values += by_rays
    return values
