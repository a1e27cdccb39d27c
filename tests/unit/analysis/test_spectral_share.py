"""Share of the UV index from below 298 nm."""

import math

import pytest

from sim.analysis.maps import Maps
from sim.analysis.spectral_share import share_below
from sim.spectra.spectrum import Spectrum
from tests.support.synthetic_result import EDGES_NM, TUBE, Patch, make_result, uniform, uvi_per_watt


def share_of(spectrum: Spectrum, truth: float = 1.0) -> float:
    patch = Patch("zone", "place", (0, 0, 0), (0.1, 0, 0), (0, 0.1, 0), (2, 2), {"role": "basking"})
    result = make_result([patch], uniform(truth), lamps=[("lamp", spectrum, 1.0)])
    return share_below(Maps(result), result.groups[0]).value


def test_the_edge_lies_inside_a_band_of_these_tests() -> None:
    assert 298.0 not in EDGES_NM


@pytest.mark.parametrize("spectrum", [TUBE, Spectrum.gaussian_band(300.0, 10.0)], ids=["tube", "narrow"])
def test_a_straddling_band_is_parted_by_the_lamps_own_spectrum(spectrum: Spectrum) -> None:
    expected = uvi_per_watt(spectrum, 250.0, 298.0) / uvi_per_watt(spectrum)
    assert share_of(spectrum) == pytest.approx(expected, rel=1e-3)


def test_lines_on_both_sides() -> None:
    # Weights 1 and 0.6486344 by CIE S 007/E:1998; the line on 298 nm itself is not below it.
    spectrum = Spectrum.from_lines([(296.0, 1.0), (298.0, 1.0), (300.0, 1.0)])
    assert share_of(spectrum) == pytest.approx(1.0 / 2.6486344, rel=1e-6)


def test_of_no_light_there_is_no_share() -> None:
    assert math.isnan(share_of(TUBE, truth=0.0))
