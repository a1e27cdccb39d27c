"""The full width at half maximum of a row of cells."""

import numpy as np
import pytest

from sim.analysis.lit_band import full_width, width_with_error

X = np.linspace(-1.0, 1.0, 64, endpoint=False) + 1.0 / 64


@pytest.mark.parametrize(("sigma", "shift"), [(0.2, 0.0), (0.3, 0.11), (0.1, -0.4)])
def test_gaussian(sigma: float, shift: float) -> None:
    # By definition 2 sqrt(2 ln 2) sigma, wherever the peak lies. Smoothing over seven cells widens one of as many cells
    # by 2 %, one of twice as many by next to nothing; strips are cut so that a width takes 40.
    expected = 2.0 * np.sqrt(2.0 * np.log(2.0)) * sigma
    assert full_width(np.exp(-0.5 * ((X - shift) / sigma) ** 2), 2.0 / 64) == pytest.approx(
        expected, rel=0.025 if sigma < 0.2 else 0.005
    )


def test_two_peaks_count_from_the_outer_edges() -> None:
    profile = np.exp(-0.5 * ((X - 0.4) / 0.08) ** 2) + np.exp(-0.5 * ((X + 0.4) / 0.08) ** 2)
    # A peak of 2.5 cells is rounded by the smoothing, 6 % of it at most.
    assert full_width(profile, 2.0 / 64) == pytest.approx(0.8 + 2.0 * 1.1774 * 0.08, rel=0.015)


@pytest.mark.parametrize("profile", [np.zeros(64), np.ones(64), 1.0 + X, 1.0 - X])
def test_a_row_without_two_edges_has_no_width(profile: np.ndarray) -> None:
    assert np.isnan(full_width(profile, 0.1))


def test_error_is_that_of_repeated_measurements() -> None:
    generator = np.random.default_rng(5)
    shape = np.exp(-0.5 * (X / 0.25) ** 2)

    def measured() -> tuple[float, float]:
        return width_with_error(shape + 0.3 * generator.standard_normal((64, 64)), 2.0 / 64)

    runs = np.array([measured() for _ in range(40)])
    # The scatter of 40 widths is known to 1 / sqrt(2 * 39), 11 %; three of that.
    assert runs[:, 1].mean() == pytest.approx(runs[:, 0].std(ddof=1), rel=0.35)
