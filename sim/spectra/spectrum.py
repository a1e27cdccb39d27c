"""Spectra made of lines and a piecewise-linear continuum, and integrals over them."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Self

import numpy as np
import numpy.typing as npt

from sim.spectra.arrays import FloatArray, WavelengthFunction, checked_amounts, checked_edges, read_only
from sim.spectra.csv_table import read_csv_table
from sim.spectra.gaussian import gaussian_samples
from sim.spectra.measure import Measure
from sim.spectra.piecewise import add_curves, limit
from sim.spectra.quadrature import gauss_nodes, points_between
from sim.spectra.smooth_table import smooth_samples
from sim.spectra.weighting import Weighting

LONGEST_STEP_NM = 0.5
"""Longest quadrature interval under a curved weighting [nm]; erythema falls by 11 % over it."""

FILTER_STEP_NM = 0.25
"""Longest step between samples behind a filter [nm]."""


@dataclass(frozen=True, eq=False)
class Spectrum:
    """Spectral power of a lamp, or spectral irradiance: lines plus a piecewise-linear continuum.

    The continuum is linear between samples and zero outside them; two samples at one wavelength make a step.
    A line on an inner band edge belongs to the band above it, one on the top edge to the last band. So a
    range includes the lines on both of its ends, and bands always add up to the range that they cut.

    Parameters
    ----------
    wavelength_nm : (m,) float, non-decreasing [nm]
        Samples of the continuum; may be empty.
    density : (m,) float, >= 0 [power per nm]
        Continuum there.
    line_nm : (k,) float [nm]
        Spectral lines, in any order; kept sorted.
    line_power : (k,) float, >= 0 [power]
        Power of each line.

    Raises
    ------
    ValueError
        If shapes differ, a number is negative or not finite, samples are out of order, or there is only one.
    """

    wavelength_nm: FloatArray
    density: FloatArray
    line_nm: FloatArray
    line_power: FloatArray

    def __post_init__(self) -> None:
        """Check the arrays, sort the lines and make all read-only."""
        wavelength = checked_amounts(self.wavelength_nm, "the wavelengths of a continuum")
        density = checked_amounts(self.density, "the density of a continuum")
        line_nm = checked_amounts(self.line_nm, "the wavelengths of lines")
        line_power = checked_amounts(self.line_power, "the power of lines")
        if wavelength.size != density.size:
            raise ValueError(f"a continuum of {wavelength.size} wavelengths but {density.size} densities")
        if line_nm.size != line_power.size:
            raise ValueError(f"{line_nm.size} wavelengths of lines but {line_power.size} powers")
        if wavelength.size == 1:
            raise ValueError("a continuum needs at least two samples; give a single wavelength as a line")
        if np.any(np.diff(wavelength) < 0):
            raise ValueError("the wavelengths of a continuum must not decrease")
        order = np.argsort(line_nm, kind="stable")
        object.__setattr__(self, "wavelength_nm", wavelength)
        object.__setattr__(self, "density", density)
        object.__setattr__(self, "line_nm", read_only(line_nm[order]))
        object.__setattr__(self, "line_power", read_only(line_power[order]))

    @classmethod
    def from_lines(cls, pairs: Iterable[tuple[float, float]]) -> Self:
        """Return a spectrum of lines alone.

        Parameters
        ----------
        pairs : iterable of (wavelength_nm, power)
        """
        lines = np.array([(float(at), float(power)) for at, power in pairs]).reshape(-1, 2)
        return cls(np.zeros(0), np.zeros(0), lines[:, 0], lines[:, 1])

    @classmethod
    def from_samples(cls, wavelength_nm: npt.ArrayLike, density: npt.ArrayLike) -> Self:
        """Return a continuum, linear between samples.

        Parameters
        ----------
        wavelength_nm : (m,) array_like of float, non-decreasing [nm]
        density : (m,) array_like of float, >= 0 [power per nm]
        """
        return cls(read_only(wavelength_nm), read_only(density), np.zeros(0), np.zeros(0))

    @classmethod
    def from_table(cls, wavelength_nm: npt.ArrayLike, density: npt.ArrayLike) -> Self:
        """Return the smooth continuum that a table samples: a monotone cubic through its rows.

        Parameters
        ----------
        wavelength_nm : (m,) array_like of float, increasing [nm]
        density : (m,) array_like of float, >= 0 [power per nm]
        """
        return cls.from_samples(*smooth_samples(read_only(wavelength_nm), read_only(density)))

    @classmethod
    def gaussian_band(
        cls, peak_nm: float, fwhm_nm: float, from_nm: float | None = None, to_nm: float | None = None
    ) -> Self:
        """Return a Gaussian band of unit power, cut off hard at the ends where asked.

        Parameters
        ----------
        peak_nm : float [nm]
        fwhm_nm : float, > 0 [nm]
            Full width at half maximum of the uncut band.
        from_nm, to_nm : float, optional [nm]
            The density steps to zero below and above; the power between them is one.

        Raises
        ------
        ValueError
            If the peak or width is not positive or no power is left between the cuts.
        """
        wavelength, height = gaussian_samples(peak_nm, fwhm_nm, from_nm, to_nm)
        return cls.from_samples(wavelength, height).normalised(wavelength[0], wavelength[-1])

    @classmethod
    def mix(cls, parts: Iterable[tuple["Spectrum", float]]) -> Self:
        """Return the sum of spectra, each times its share; nothing is normalised.

        Parameters
        ----------
        parts : iterable of (Spectrum, share >= 0)
        """
        scaled = [spectrum.scaled(share) for spectrum, share in parts]
        wavelength, density = add_curves([(part.wavelength_nm, part.density) for part in scaled])
        line_nm = np.concatenate([np.zeros(0), *(part.line_nm for part in scaled)])
        line_power = np.concatenate([np.zeros(0), *(part.line_power for part in scaled)])
        return cls(wavelength, density, line_nm, line_power)

    @classmethod
    def read_csv(cls, path: str | Path) -> Self:
        """Return the continuum in a two-column text file: wavelength_nm, value; see `from_table`.

        Parameters
        ----------
        path : str or Path
            See `sim.spectra.csv_table.read_csv_table` for the format and the errors raised.
        """
        return cls.from_table(*read_csv_table(path))

    def __add__(self, other: "Spectrum") -> "Spectrum":
        """Return the sum of two spectra."""
        return Spectrum.mix([(self, 1.0), (other, 1.0)])

    def scaled(self, factor: float) -> Self:
        """Return the spectrum times a factor >= 0."""
        if not (factor >= 0 and math.isfinite(factor)):
            raise ValueError(f"a spectrum can be scaled by a finite factor of 0 or more, not {factor:g}")
        return type(self)(self.wavelength_nm, self.density * factor, self.line_nm, self.line_power * factor)

    def filtered(self, transmittance: WavelengthFunction) -> Self:
        """Return the spectrum behind a filter.

        Parameters
        ----------
        transmittance : callable, (n,) float [nm] -> (n,) float, 0 ... 1
            Continuous, and nearly straight over `FILTER_STEP_NM`.
        """
        wavelength, density = self.wavelength_nm, self.density
        if wavelength.size:
            count = 1 + math.ceil((wavelength[-1] - wavelength[0]) / FILTER_STEP_NM)
            fine = np.linspace(wavelength[0], wavelength[-1], count)
            wavelength, density = add_curves([(wavelength, density), (fine, np.zeros(count))])
        passed = density * transmittance(wavelength)
        return type(self)(wavelength, passed, self.line_nm, self.line_power * transmittance(self.line_nm))

    def normalised(self, low_nm: float, high_nm: float) -> Self:
        """Return the spectrum scaled to a power of one between two wavelengths [nm].

        Raises
        ------
        ValueError
            If there is no power between them.
        """
        power = self.power(low_nm, high_nm)
        if not power > 0:
            raise ValueError(f"the spectrum has no power between {low_nm:g} and {high_nm:g} nm")
        # Division, not scaling by 1/power, which overflows where the power is subnormal.
        return type(self)(self.wavelength_nm, self.density / power, self.line_nm, self.line_power / power)

    def density_at(self, wavelength_nm: npt.ArrayLike) -> FloatArray:
        """Return the continuum at given wavelengths, lines left out; the upper value on a step.

        Parameters
        ----------
        wavelength_nm : (n,) array_like of float [nm]

        Returns
        -------
        (n,) float [power per nm]
        """
        return limit(np.asarray(wavelength_nm, dtype=np.float64), self.wavelength_nm, self.density, side="right")

    def power(self, low_nm: float = 250, high_nm: float = 400) -> float:
        """Return the power between two wavelengths [nm], lines on both ends included."""
        return float(self.band_power([low_nm, high_nm])[0])

    def weighted(self, weighting: Weighting, low_nm: float = 250, high_nm: float = 400) -> float:
        """Return the integral of spectrum times weighting between two wavelengths [nm], without its scale."""
        return float(self.band_weighted(weighting, [low_nm, high_nm])[0])

    def band_power(self, edges_nm: npt.ArrayLike) -> FloatArray:
        """Return the power in each band.

        Parameters
        ----------
        edges_nm : (n_band + 1,) array_like of float, increasing [nm]

        Returns
        -------
        (n_band,) float
        """
        return self._measure(checked_edges(edges_nm), (), math.inf).integral()

    def band_weighted(self, weighting: Weighting, edges_nm: npt.ArrayLike) -> FloatArray:
        """Return the integral of spectrum times weighting over each band, without its scale.

        Parameters
        ----------
        weighting : Weighting
        edges_nm : (n_band + 1,) array_like of float, increasing [nm]

        Returns
        -------
        (n_band,) float
        """
        measure = self._measure(checked_edges(edges_nm), weighting.breakpoints_nm, LONGEST_STEP_NM)
        return measure.integral(weighting(measure.wavelength_nm))

    def band_mean(
        self, function: WavelengthFunction, breakpoints_nm: npt.ArrayLike, edges_nm: npt.ArrayLike
    ) -> FloatArray:
        """Return the mean of a function of wavelength in each band, weighted by this spectrum.

        Where the spectrum has no power the plain mean over the band stands in, so that a law stays defined.

        Parameters
        ----------
        function : callable, (n,) float [nm] -> (n, ...) float
        breakpoints_nm : (any,) array_like of float [nm]
            Where the function steps or bends.
        edges_nm : (n_band + 1,) array_like of float, increasing [nm]

        Returns
        -------
        (n_band, ...) float
        """
        edges = checked_edges(edges_nm)
        measure = self._measure(edges, breakpoints_nm, LONGEST_STEP_NM)
        power = measure.integral()
        dark = power <= np.finfo(np.float64).tiny
        if np.any(dark):
            level = Spectrum.from_samples(np.repeat(edges, 2)[1:-1], np.repeat(dark, 2))
            return (self + level).band_mean(function, breakpoints_nm, edges)
        steps = np.arange(edges[0], edges[-1], LONGEST_STEP_NM)
        points = points_between(edges[0], edges[-1], steps, np.asarray(breakpoints_nm, dtype=np.float64), edges)
        few = measure._replace(mass=measure.mass / power[measure.band]).condensed(points)
        return few.integral(np.asarray(function(few.wavelength_nm), dtype=np.float64))

    def _measure(self, edges_nm: FloatArray, breakpoints_nm: npt.ArrayLike, longest_nm: float) -> Measure:
        """Return the spectrum within the edges as point masses; sums over them are its integrals."""
        lines = (self.line_nm >= edges_nm[0]) & (self.line_nm <= edges_nm[-1])
        nodes, mass = self.line_nm[lines], self.line_power[lines]
        if self.wavelength_nm.size:
            low = max(edges_nm[0], self.wavelength_nm[0])
            high = min(edges_nm[-1], self.wavelength_nm[-1])
            if low < high:
                breakpoints = np.asarray(breakpoints_nm, dtype=np.float64)
                points = points_between(low, high, self.wavelength_nm, breakpoints, edges_nm)
                inner, weights = gauss_nodes(points, longest_nm)
                nodes = np.concatenate([inner, nodes])
                mass = np.concatenate([weights * self.density_at(inner), mass])
        n_band = edges_nm.size - 1
        band = np.searchsorted(edges_nm, nodes, side="right") - 1
        return Measure(nodes, mass, np.minimum(band, n_band - 1), n_band)
