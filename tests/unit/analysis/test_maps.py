"""Weighted irradiance at the receivers: by each lamp's own spectrum, linear in the lamps."""

import numpy as np
import pytest

from sim.analysis.maps import Maps, area_weights, counted, quantity, unweighted
from sim.spectra.spectrum import Spectrum
from sim.tally.result import Result
from tests.support.synthetic_result import TUBE, Patch, box_patches, make_result, uniform

BROAD = Spectrum.gaussian_band(310.0, 40.0, 280.0, 400.0)
NARROW = Spectrum.gaussian_band(312.0, 2.5)
LINES = Spectrum.from_lines([(296.728, 0.002), (302.150, 0.004), (313.155, 0.05), (365.015, 0.2), (404.656, 0.5)])


def meter(spectrum: Spectrum, truth: float = 1.0) -> Result:
    point = Patch("sensor", "meter", (0.6, 0.3, 0.1), (0, 0, 0), (0, 0, 0), (0, 0), {"kind": "point"})
    return make_result([point], uniform(truth), noise=0.0, lamps=[("lamp", spectrum, 1.0)])


# UV index per W/m2 between 250 and 400 nm: 40 m2/W (WHO/SDE/OEH/02.2, 2002) times the integral with the erythema
# curve of CIE S 007/E:1998, integrated on a 0.1 nm grid apart from this project.
@pytest.mark.parametrize(
    ("spectrum", "per_watt"),
    [(BROAD, 12.3512), (NARROW, 1.9839), (LINES, 0.22378 / 0.256)],
    ids=["broad", "narrow", "lines"],
)
def test_uvi_per_watt_is_that_of_the_spectrum_inside_coarse_bands(spectrum: Spectrum, per_watt: float) -> None:
    result = meter(spectrum)
    ratio = quantity(result, "uvi") / unweighted(result)
    assert ratio == pytest.approx(per_watt, rel=1e-3)


def test_uvi_is_the_truth_that_went_in() -> None:
    assert quantity(meter(TUBE, truth=2.5), "uvi") == pytest.approx(2.5, rel=1e-4)


def two_lamps() -> Result:
    lamps = [("a", BROAD, 0.75), ("b", NARROW, 0.25)]
    return make_result(box_patches(), uniform(2.0), lamps=lamps)


def test_each_lamp_counts_by_its_own_spectrum() -> None:
    result = two_lamps()
    alone = [quantity(result, "uvi", [1.0, 0.0]).mean(), quantity(result, "uvi", [0.0, 1.0]).mean()]
    assert alone == pytest.approx([1.5, 0.5], rel=5e-3)


@pytest.mark.parametrize("weighting", ["uvi", "uvb-315", "previtamin-d3", "actinic"])
def test_everything_is_linear_in_the_lamps(weighting: str) -> None:
    result = two_lamps()
    parts = 0.5 * quantity(result, weighting, [1.0, 0.0]) + 3.0 * quantity(result, weighting, [0.0, 1.0])
    np.testing.assert_allclose(quantity(result, weighting, [0.5, 3.0]), parts, rtol=1e-12)


def test_bands_that_part_the_range_add_up_to_the_whole() -> None:
    result = two_lamps()
    np.testing.assert_allclose(quantity(result, "total"), unweighted(result), rtol=1e-5)


@pytest.mark.parametrize("levels", [[1.0], [1.0, -0.1], [1.0, float("nan")], [[1.0, 1.0]]])
def test_levels_that_are_none_are_refused(levels: list[float]) -> None:
    with pytest.raises(ValueError, match="levels"):
        quantity(two_lamps(), "uvi", levels)


def test_unknown_weighting_is_refused() -> None:
    with pytest.raises(KeyError, match="sunburn"):
        quantity(two_lamps(), "sunburn")


def test_maps_compute_a_quantity_once() -> None:
    maps = Maps(two_lamps())
    assert maps.uvi is maps.of("uvi")
    assert maps.irradiance is maps.irradiance


def test_quantities_read_together_are_those_read_one_by_one() -> None:
    result = two_lamps()
    maps, fresh = Maps(result, [0.5, 3.0]), Maps(result, [0.5, 3.0])
    known = maps.of("uva")
    maps.read(["uva", "erythema", "uvb-315"])
    assert maps.of("uva") is known
    for name in ("erythema", "uvb-315"):
        np.testing.assert_allclose(maps.of(name), fresh.of(name), rtol=1e-12)


def test_a_mean_over_a_group_takes_its_receivers_alone() -> None:
    result = two_lamps()
    group = result.groups[2]
    maps, fresh = Maps(result, [0.5, 3.0]), Maps(result, [0.5, 3.0])
    expected = maps.mean_over(group, maps.of("uva"))
    assert not np.array_equal(expected, maps.mean_over(result.groups[1], maps.of("uva")))
    np.testing.assert_allclose(fresh.mean_of(group, "uva"), expected, rtol=1e-12)
    np.testing.assert_array_equal(maps.mean_of(group, "uva"), expected)


def test_area_weights() -> None:
    assert area_weights(np.array([1.0, 3.0])).tolist() == [0.25, 0.75]
    assert area_weights(np.zeros(4)).tolist() == [0.25] * 4


def test_cells_cut_away_do_not_count_but_points_do() -> None:
    assert counted(np.array([0.0, 1.0])).tolist() == [False, True]
    assert counted(np.zeros(2)).tolist() == [True, True]
