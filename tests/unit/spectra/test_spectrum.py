"""Spectra: integrals, sums, scaling, bad input."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.spectra.arrays import FloatArray
from sim.spectra.measure import Measure
from sim.spectra.spectrum import Spectrum
from sim.spectra.weighting import WEIGHTINGS

wavelengths = st.one_of(
    st.integers(250, 400).map(float), st.floats(250, 400, allow_nan=False), st.sampled_from([280.0, 298.0, 315.0])
)
powers = st.floats(0, 100, allow_subnormal=False)
bands = st.builds(
    lambda peak, fwhm, low, width: Spectrum.gaussian_band(peak, fwhm, low, low + width),
    st.floats(260, 390),
    st.floats(50, 80),
    st.floats(240, 320),
    st.floats(30, 150),
)
lines = st.lists(st.tuples(wavelengths, powers), max_size=6).map(Spectrum.from_lines)
spectra = st.builds(
    lambda parts, shares, line: Spectrum.mix([*zip(parts, shares, strict=False), (line, 1.0)]),
    st.lists(bands, max_size=3),
    st.lists(powers, min_size=3, max_size=3),
    lines,
)
grids = st.lists(wavelengths, min_size=2, max_size=12, unique=True).map(lambda edges: np.array(sorted(edges)))


def ramp() -> Spectrum:
    """Density rising from 0 at 300 nm to 1 at 310 nm."""
    return Spectrum.from_samples([300.0, 310.0], [0.0, 1.0])


def test_masses_that_stand_for_others_stay_between_the_edges() -> None:
    """A line at an edge, where a function may begin, is not moved out by rounding."""
    rng = np.random.Generator(np.random.Philox(3))
    edges = np.array([250.0, 250.5])
    for _ in range(300):
        nodes = np.concatenate([rng.uniform(250.0, 250.5, 1), [250.0]])
        mass = np.concatenate([rng.uniform(0.0, 1e-3, 1), [2.0]])
        few = Measure(nodes, mass, np.zeros(2, dtype=np.int64), 1).condensed(edges)
        assert few.wavelength_nm.min() >= 250.0
        assert few.mass.sum() == pytest.approx(mass.sum(), rel=1e-12)


@given(spectra, grids)
def test_bands_add_up_to_the_range_they_cut(spectrum: Spectrum, edges: FloatArray) -> None:
    whole = spectrum.power(edges[0], edges[-1])
    assert spectrum.band_power(edges).sum() == pytest.approx(whole, rel=1e-9, abs=1e-12)
    for weighting in WEIGHTINGS.values():
        whole = spectrum.weighted(weighting, edges[0], edges[-1])
        parts = spectrum.band_weighted(weighting, edges)
        assert parts.sum() == pytest.approx(whole, rel=1e-7, abs=1e-12)


@given(spectra, st.floats(0, 1e6, allow_subnormal=False), grids)
def test_scaling_scales_every_integral(spectrum: Spectrum, factor: float, edges: FloatArray) -> None:
    scaled = spectrum.scaled(factor)
    assert scaled.band_power(edges) == pytest.approx(factor * spectrum.band_power(edges), rel=1e-12)
    uvi = WEIGHTINGS["uvi"]
    assert scaled.weighted(uvi) == pytest.approx(factor * spectrum.weighted(uvi), rel=1e-12)


@given(spectra, spectra, grids)
def test_a_sum_of_spectra_integrates_to_the_sum(first: Spectrum, second: Spectrum, edges: FloatArray) -> None:
    both = first + second
    parts = first.band_power(edges) + second.band_power(edges)
    assert both.band_power(edges) == pytest.approx(parts, rel=1e-9, abs=1e-12)
    for weighting in WEIGHTINGS.values():
        parts = first.band_weighted(weighting, edges) + second.band_weighted(weighting, edges)
        assert both.band_weighted(weighting, edges) == pytest.approx(parts, rel=1e-6, abs=1e-12)


@given(spectra, grids)
def test_band_mean_of_a_weighting_is_its_integral_over_the_power(spectrum: Spectrum, edges: FloatArray) -> None:
    weighting = WEIGHTINGS["erythema"]
    mean = spectrum.band_mean(weighting, weighting.breakpoints_nm, edges)
    assert np.all((mean >= 0) & (mean <= 1 + 1e-12))
    expected = spectrum.band_weighted(weighting, edges)
    # Erythema falls by 11 % over the half nanometre for which two wavelengths stand; a cubic misses 3e-8 of that.
    assert mean * spectrum.band_power(edges) == pytest.approx(expected, rel=1e-7, abs=1e-300)


def test_a_line_on_an_edge_is_in_the_band_above_and_on_the_top_edge_in_the_last() -> None:
    spectrum = Spectrum.from_lines([(280.0, 1.0), (300.0, 2.0), (320.0, 4.0), (320.1, 8.0), (279.9, 16.0)])
    assert spectrum.band_power([280, 300, 310, 320]).tolist() == [1.0, 2.0, 4.0]
    assert spectrum.power(280, 320) == 7.0


def test_a_line_at_315_nm_is_uva_and_not_uvb() -> None:
    line = Spectrum.from_lines([(315.0, 1.0)])
    assert (line.weighted(WEIGHTINGS["uvb-315"]), line.weighted(WEIGHTINGS["uva"])) == (0.0, 1.0)
    assert line.weighted(WEIGHTINGS["uvb-320"]) == 1.0


def test_lines_are_kept_sorted_with_their_powers() -> None:
    spectrum = Spectrum.from_lines([(365.0, 2.0), (313.0, 1.0), (405.0, 3.0)])
    assert spectrum.line_nm.tolist() == [313.0, 365.0, 405.0]
    assert spectrum.line_power.tolist() == [1.0, 2.0, 3.0]


def test_continuum_is_linear_between_samples_and_zero_outside() -> None:
    assert ramp().density_at([299.9, 300.0, 305.0, 309.0, 310.1]).tolist() == pytest.approx([0, 0, 0.5, 0.9, 0])
    assert ramp().band_power([290, 300, 305, 310, 320]) == pytest.approx([0, 1.25, 3.75, 0], rel=1e-12)


def test_two_samples_at_one_wavelength_make_a_step() -> None:
    step = Spectrum.from_samples([290.0, 300.0, 300.0, 310.0], [1.0, 1.0, 3.0, 3.0])
    assert step.density_at([295.0, 300.0, 305.0]).tolist() == [1.0, 3.0, 3.0]
    assert step.band_power([290, 300, 310]) == pytest.approx([10.0, 30.0], rel=1e-12)


def test_the_integral_of_a_ramp_times_erythema_is_the_closed_form() -> None:
    # Over 300-310 nm the action spectrum (CIE S 007/E:1998) is a exp(-b x): integrate x/10 times it by parts.
    a, b = 10 ** (-0.094 * 2), 0.094 * math.log(10)
    closed = a / 10 * (1 / b**2 - math.exp(-10 * b) * (10 / b + 1 / b**2))
    assert ramp().weighted(WEIGHTINGS["erythema"]) == pytest.approx(closed, rel=1e-9)


def test_spectra_apart_leave_nothing_between_them() -> None:
    both = Spectrum.from_samples([280, 290], [1, 1]) + Spectrum.from_samples([350, 360], [2, 2])
    assert both.band_power([280, 290, 350, 360]) == pytest.approx([10, 0, 20], abs=1e-12)


def test_shared_edges_of_summed_spectra_stay_steps() -> None:
    both = Spectrum.from_samples([280, 300], [1, 1]) + Spectrum.from_samples([300, 310], [5, 5])
    assert both.wavelength_nm.tolist() == [280, 300, 300, 310]
    assert both.density.tolist() == [1, 1, 5, 5]


def test_mix_takes_parts_as_they_are() -> None:
    parts = [(Spectrum.from_lines([(313, 2)]), 0.5), (Spectrum.gaussian_band(351, 40), 3.0)]
    assert Spectrum.mix(parts).power(100, 600) == pytest.approx(4.0, rel=1e-12)
    assert Spectrum.mix([]).power() == 0.0


@pytest.mark.parametrize("cuts", [(None, None), (280.0, None), (None, 320.0), (300.0, 301.0), (311.0, 330.0)])
def test_a_gaussian_band_has_unit_power_and_hard_cuts(cuts: tuple[float | None, float | None]) -> None:
    band = Spectrum.gaussian_band(310, 20, *cuts)
    low, high = cuts[0] or 100.0, cuts[1] or 600.0
    assert band.power(low, high) == pytest.approx(1.0, rel=1e-12)
    assert band.band_power([100, low + 1e-9, high - 1e-9, 600]) == pytest.approx([0, 1, 0], abs=1e-8)
    for cut in filter(None, cuts):
        assert band.density_at([cut - 1e-6, cut + 1e-6]).min() == 0.0
        assert band.density_at([cut - 1e-6, cut + 1e-6]).max() > 0.0


def test_a_gaussian_band_is_half_as_high_half_a_width_from_its_peak() -> None:
    low, peak, high = Spectrum.gaussian_band(310, 40).density_at([290, 310, 330])
    assert [low / peak, high / peak] == pytest.approx([0.5, 0.5], rel=2e-4)


def test_normalised_has_power_one_in_its_range() -> None:
    spectrum = (Spectrum.gaussian_band(351, 40) + Spectrum.from_lines([(405, 7)])).normalised(280, 400)
    assert spectrum.power(280, 400) == pytest.approx(1.0, rel=1e-12)
    assert spectrum.line_power[0] > 7.0


def test_band_mean_weights_by_the_spectrum_and_is_plain_where_dark() -> None:
    def double(at: FloatArray) -> FloatArray:
        return np.stack([at, 2 * at], axis=1)

    mean = ramp().band_mean(double, [], [290, 300, 310])
    assert mean == pytest.approx(np.array([[295.0, 590.0], [920 / 3, 1840 / 3]]), rel=1e-12)
    line = Spectrum.from_lines([(302.0, 1e-200)])
    assert line.band_mean(lambda at: at, [], [290, 300, 310]) == pytest.approx([295.0, 302.0], rel=1e-12)


def test_band_mean_keeps_any_trailing_shape_and_respects_steps() -> None:
    def step(at: FloatArray) -> FloatArray:
        return np.broadcast_to((at > 293.7)[:, None, None], (at.size, 2, 3)).astype(np.float64)

    mean = Spectrum.from_lines([]).band_mean(step, [293.7], [290, 300])
    assert mean == pytest.approx(np.full((1, 2, 3), 0.63), rel=1e-12)


def test_arrays_cannot_be_written_to_and_are_private() -> None:
    given_values = np.array([1.0, 2.0])
    spectrum = Spectrum.from_samples([300.0, 310.0], given_values)
    given_values[:] = 0.0
    assert spectrum.density.tolist() == [1.0, 2.0]
    with pytest.raises(ValueError, match="read-only"):
        spectrum.density[0] = 5.0


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Spectrum.from_samples([300, 310], [1, -1]), "must not be negative"),
        (lambda: Spectrum.from_samples([300, 310], [1, math.nan]), "must be finite"),
        (lambda: Spectrum.from_samples([310, 300], [1, 1]), "must not decrease"),
        (lambda: Spectrum.from_samples([300], [1]), "at least two samples"),
        (lambda: Spectrum.from_samples([300, 310], [1]), "2 wavelengths but 1 densities"),
        (lambda: Spectrum.from_samples([[300, 310]], [[1, 1]]), "a list of numbers"),
        (lambda: Spectrum.from_lines([(313, -1)]), "power of lines must not be negative"),
        (lambda: Spectrum(np.zeros(0), np.zeros(0), np.ones(2), np.ones(1)), "2 wavelengths of lines but 1"),
        (lambda: Spectrum.gaussian_band(310, 0), "width above 0 nm"),
        (lambda: Spectrum.gaussian_band(310, 40, 320, 300), "the cuts leave nothing"),
        (lambda: Spectrum.gaussian_band(310, 1, from_nm=350), "the cuts leave nothing"),
        (lambda: ramp().scaled(-1), "finite factor of 0 or more"),
        (lambda: ramp().normalised(320, 400), "no power between 320 and 400 nm"),
        (lambda: ramp().power(400, 250), "must increase"),
        (lambda: ramp().band_power([300]), "at least two"),
        (lambda: ramp().band_power([300, math.inf]), "must be finite"),
    ],
)
def test_bad_input_is_named(make: Callable[[], object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        make()
