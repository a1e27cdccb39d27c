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


def balanced(  # noqa: PLR0913, PLR0917  # what it takes, and memory
    by_rays: FloatArray,
    by_others: FloatArray,
    by_photons: FloatArray,
    area: FloatArray,
    first: IntArray,
    scratch: FloatArray | None = None,
) -> FloatArray:
    """Return the light on the cells of some surfaces in one replicate, on each as much in all as its photons bring.

    Parameters
    ----------
    by_rays : (cell, band) float [any unit of power per m2]
        The replicate's estimate for each cell.
    by_others : (cell, band) float
        The sum of those of all other replicates. The result takes its place.
    by_photons : (surface, band) float [the same unit, times m2]
        The replicate's estimates of the sum over the cells of each surface.
    area : (cell,) float [m2]
    first : (surface,) int
        The first cell of each surface; its others follow, up to the first of the next.
    scratch : (cell, band) float, optional
        Memory to work in.

    Returns
    -------
    (cell, band) float
    """
    missing = by_photons - np.add.reduceat(np.multiply(by_rays, area[:, None], out=scratch), first)
    whole = np.add.reduceat(np.multiply(by_others, area[:, None], out=scratch), first)
    share = np.divide(missing, whole, out=np.zeros_like(whole), where=whole > 0.0)
    for start, end, part in zip(first, [*first[1:], len(area)], share, strict=True):
        by_others[start:end] *= part
    by_others += by_rays
    return by_others
