"""UV index and its kin of lines and Gaussian bands, against the definitions and an independent integrator."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import erf

from sim.spectra.spectrum import Spectrum
from sim.spectra.weighting import WEIGHTINGS, Weighting

SIGMA_PER_FWHM = 1 / math.sqrt(8 * math.log(2))


def exact(weighting: Weighting, peak: float, fwhm: float, low: float, high: float) -> float:
    """Mean of a weighting over a hard-cut Gaussian, by adaptive quadrature between the weighting's breakpoints."""
    sigma = fwhm * SIGMA_PER_FWHM

    def gaussian(at: float) -> float:
        return math.exp(-(((at - peak) / sigma) ** 2) / 2)

    def weighted(at: float) -> float:
        return gaussian(at) * float(weighting(at))

    reach = (max(low, peak - 9 * sigma), min(high, peak + 9 * sigma))
    inner = (at for at in (*weighting.breakpoints_nm, peak) if reach[0] < at < reach[1])
    pieces = list(pairwise(sorted({*reach, *inner})))
    total, norm = (
        math.fsum(quad(integrand, *piece, epsabs=0, epsrel=1e-10)[0] for piece in pieces)
        for integrand in (weighted, gaussian)
    )
    return total / norm


def test_erythemal_irradiance_of_a_fifth_of_a_watt_is_uv_index_eight() -> None:
    # WHO/SDE/OEH/02.2 (2002), worked example: 0.2 W/m2 erythemal -> 8.0.
    assert 40 * Spectrum.from_lines([(298.0, 0.2)]).weighted(WEIGHTINGS["uvi"]) == pytest.approx(8.0, rel=1e-12)
    assert WEIGHTINGS["uvi"].scale == 40


def test_uv_index_of_mercury_lines() -> None:
    # Sum of five products by hand with CIE S 007/E:1998; the line at 404.656 nm does not count.
    lines = [(296.728, 0.002), (302.150, 0.004), (313.155, 0.05), (365.015, 0.2), (404.656, 0.5)]
    by_hand = 40 * (0.002 + 0.004 * 10**-0.3901 + 0.05 * 10**-1.42457 + 0.2 * 10**-3.375225)
    uvi = WEIGHTINGS["uvi"].scale * Spectrum.from_lines(lines).weighted(WEIGHTINGS["uvi"])
    assert uvi == pytest.approx(by_hand, rel=1e-12)
    assert uvi == pytest.approx(0.22378, rel=1e-4)


# UV index per W/m2 in 280-400 nm, band cut below 280 nm: the published definition summed on a 0.1 nm grid.
@pytest.mark.parametrize(
    ("peak", "fwhm", "uvi"),
    [(310, 40, 12.3512), (312, 2.5, 1.9839), (306, 40, 15.3116), (351, 40, 0.16133), (368, 20, 0.01588)],
)
def test_uv_index_of_a_phosphor_band(peak: float, fwhm: float, uvi: float) -> None:
    band = Spectrum.gaussian_band(peak, fwhm, from_nm=280).normalised(280, 400)
    assert 40 * band.weighted(WEIGHTINGS["uvi"]) == pytest.approx(uvi, rel=4e-4)
    assert 40 * band.weighted(WEIGHTINGS["uvi"]) == pytest.approx(
        40 * exact(WEIGHTINGS["uvi"], peak, fwhm, 280, 400), rel=1e-5
    )


# The same band of 310 nm, FWHM 40 nm, under the other weightings, on the same 0.1 nm grid.
@pytest.mark.parametrize(
    ("name", "value"),
    [("previtamin-d3", 0.37589), ("actinic", 0.16194), ("uvb-315", 0.60040), ("uvb-320", 0.71088)],
)
def test_other_weightings_of_a_phosphor_band(name: str, value: float) -> None:
    band = Spectrum.gaussian_band(310, 40, from_nm=280, to_nm=400)
    assert band.weighted(WEIGHTINGS[name]) == pytest.approx(value, rel=4e-4)
    assert band.weighted(WEIGHTINGS[name]) == pytest.approx(exact(WEIGHTINGS[name], 310, 40, 280, 400), rel=1e-5)


@pytest.mark.parametrize("name", WEIGHTINGS)
@pytest.mark.parametrize(
    ("peak", "fwhm", "low", "high"),
    [
        (290.3, 60, 250, 400),
        (317, 41, 281.7, 333.3),
        (312, 0.4, 250, 400),
        (300, 300, 250, 400),
        (330, 30, 297.9, 299),
    ],
)
def test_band_integrals_match_adaptive_quadrature(name: str, peak: float, fwhm: float, low: float, high: float) -> None:
    band = Spectrum.gaussian_band(peak, fwhm, low, high)
    expected = exact(WEIGHTINGS[name], peak, fwhm, low, high)
    assert band.weighted(WEIGHTINGS[name]) == pytest.approx(expected, rel=1e-5, abs=1e-12)


def test_share_of_a_band_in_each_cell_is_a_difference_of_error_functions() -> None:
    edges = np.array([281.3, 290.0, 297.77, 310.0, 311.1, 355.0, 399.0])
    band = Spectrum.gaussian_band(310, 40, from_nm=280, to_nm=400)
    scale = 40 * SIGMA_PER_FWHM * math.sqrt(2)
    total = erf((400 - 310) / scale) - erf((280 - 310) / scale)
    assert band.band_power(edges) == pytest.approx(np.diff(erf((edges - 310) / scale)) / total, rel=1e-5)
