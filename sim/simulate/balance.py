"""Straight light on the cells of a surface: its pattern from rays to the lamp, its sum from photons.

Rays tell each cell's light well, photons their sum better still, since scrambled points over all of a lamp's directions
fill a wall evenly. So each replicate adds to its cells what its rays miss of its photons' sum, spread as the other
replicates' rays say. The pattern knows nothing of the replicate that it is used in, and the difference is zero in the
mean, so no cell is biased; and what arrives on a surface is again what the books of energy say.
"""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def balanced(by_rays: FloatArray, by_photons: FloatArray, area: FloatArray) -> FloatArray:
    """Return the light on the cells of one surface, in each replicate as much in all as its photons bring.

    Parameters
    ----------
    by_rays : (replicate, cell, band) float [any unit of power per m2]
        Independent estimates for each cell.
    by_photons : (replicate, band) float [the same unit, times m2]
        Independent estimates of the sum over the cells.
    area : (cell,) float [m2]

    Returns
    -------
    (replicate, cell, band) float
    """
    missing = by_photons - np.einsum("rcb,c->rb", by_rays, area)
    others = by_rays.sum(axis=0) - by_rays
    whole = np.einsum("rcb,c->rb", others, area)
    share = np.divide(missing, whole, out=np.zeros_like(whole), where=whole > 0.0)
    values: FloatArray = by_rays + others * share[:, None, :]
    return values
