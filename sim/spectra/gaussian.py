"""Samples of a Gaussian band."""

import math

import numpy as np

from sim.spectra.piecewise import Curve

_SIGMA_PER_FWHM = 1 / (2 * math.sqrt(2 * math.log(2)))
_REACH = 8.0  # beyond eight standard deviations lies 1e-15 of the power
_LONGEST_STEP_NM = 0.5  # so that an action spectrum bends little between samples
_FEWEST_PIECES = 64  # so that an edge inside a narrow cut does little harm


def gaussian_samples(peak_nm: float, fwhm_nm: float, from_nm: float | None, to_nm: float | None) -> Curve:
    """Return samples whose linear interpolation integrates like a Gaussian of height one.

    Integrals against a smooth weighting are good to 1e-6.

    Parameters
    ----------
    peak_nm : float, > 0 [nm]
    fwhm_nm : float, > 0 [nm]
        Full width at half maximum.
    from_nm, to_nm : float or None [nm]
        Hard cuts: the outermost samples stand on them at full height.

    Returns
    -------
    wavelength_nm : (m,) float, evenly spaced [nm]
    height : (m,) float, >= 0

    Raises
    ------
    ValueError
        If the peak or width is not positive or the cuts leave nothing.
    """
    if not (0 < fwhm_nm < math.inf and 0 < peak_nm < math.inf):
        raise ValueError(f"a band needs a peak and a width above 0 nm, not {peak_nm:g} and {fwhm_nm:g} nm")
    sigma = fwhm_nm * _SIGMA_PER_FWHM
    low = max(peak_nm - _REACH * sigma, 0.0 if from_nm is None else from_nm, 0.0)
    high = min(peak_nm + _REACH * sigma, math.inf if to_nm is None else to_nm)
    if not low < high:
        raise ValueError(f"the cuts leave nothing of a band at {peak_nm:g} nm with FWHM {fwhm_nm:g} nm")
    pieces = max(_FEWEST_PIECES, math.ceil((high - low) / min(sigma / 80, _LONGEST_STEP_NM)))
    step = (high - low) / pieces
    wavelength = np.linspace(low, high, pieces + 1)
    offset = (wavelength - peak_nm) / sigma
    # A chord misses a curve by h^2 f''/12 on average over its length h. Samples moved by as much make every
    # integral right to fourth order, so a few hundred samples do.
    return wavelength, np.exp(-(offset**2) / 2) * (1 - (step / sigma) ** 2 * (offset**2 - 1) / 12)
