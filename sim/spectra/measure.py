"""A spectrum as point masses, so that an integral over it is a sum."""

from typing import NamedTuple

import numpy as np

from sim.spectra.arrays import FloatArray, IntArray


class Measure(NamedTuple):
    """Point masses that integrate like a spectrum within bands.

    Attributes
    ----------
    wavelength_nm : (q,) float [nm]
    mass : (q,) float
        Power at each.
    band : (q,) int
        Index of the band that it lies in.
    n_band : int
    """

    wavelength_nm: FloatArray
    mass: FloatArray
    band: IntArray
    n_band: int

    def integral(self, values: FloatArray | float = 1.0) -> FloatArray:
        """Return the integral over each band of the spectrum times a function.

        Parameters
        ----------
        values : (q, ...) float or float
            The function at `wavelength_nm`.

        Returns
        -------
        (n_band, ...) float
        """
        mass = self.mass.reshape(-1, *(1,) * (np.ndim(values) - 1))
        amounts = mass * values
        sums = np.zeros((self.n_band, *amounts.shape[1:]))
        np.add.at(sums, self.band, amounts)
        return sums
