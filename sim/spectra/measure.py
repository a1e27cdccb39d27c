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

    def condensed(self, edges_nm: FloatArray) -> "Measure":
        """Return two masses in the place of all that lie between two edges, good for functions that are smooth there.

        Their sums with any cubic are the same: they are the Gauss rule of the masses that they stand for, which lies
        within the range of these.

        Parameters
        ----------
        edges_nm : (e,) float, ascending [nm]
            The bands' edges, and others; the first and the last hold all masses between them.

        References
        ----------
        G. Golub, J. Welsch, Calculation of Gauss quadrature rules, Math. Comp. 23 (1969) 221-230.
        """
        count = len(edges_nm) - 1
        cell = np.minimum(np.searchsorted(edges_nm, self.wavelength_nm, side="right") - 1, count - 1)
        band = np.zeros(count, dtype=np.int64)
        band[cell] = self.band

        def mean(values: FloatArray) -> FloatArray:
            total = np.bincount(cell, self.mass * values, count)
            return np.divide(total, mass, out=np.zeros(count), where=mass > 0.0)

        mass = np.bincount(cell, self.mass, count)
        middle = mean(self.wavelength_nm)
        off = self.wavelength_nm - middle[cell]
        spread = np.sqrt(mean(off**2))
        # A cell with one mass has no spread, but for rounding, and no side.
        wide = spread > 1e-9
        skew = np.divide(mean(off**3), spread**3, out=np.zeros(count), where=wide)
        root = np.sqrt(1.0 + 0.25 * skew**2)
        nodes = [middle + np.where(wide, spread, 0.0) * (0.5 * skew + side * root) for side in (-1.0, 1.0)]
        # A line at an edge stays there: rounding must not take it to where a function has not begun.
        nodes = [np.clip(node, edges_nm[:-1], edges_nm[1:]) for node in nodes]
        masses = [0.5 * mass * (1.0 - side * 0.5 * skew / root) for side in (-1.0, 1.0)]
        both = np.tile(mass > 0.0, 2)  # where there is nothing, there is no middle either
        return Measure(np.concatenate(nodes)[both], np.concatenate(masses)[both], np.tile(band, 2)[both], self.n_band)
