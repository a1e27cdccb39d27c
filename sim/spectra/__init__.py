"""Spectra, weightings and wavelength bands, in plain numpy."""

from sim.spectra.arrays import FloatArray
from sim.spectra.grid import BandGrid, adaptive_edges, uniform_edges
from sim.spectra.spectrum import Spectrum
from sim.spectra.weighting import WEIGHTINGS, Weighting

__all__ = [
    "WEIGHTINGS",
    "BandGrid",
    "FloatArray",
    "Spectrum",
    "Weighting",
    "adaptive_edges",
    "uniform_edges",
]
