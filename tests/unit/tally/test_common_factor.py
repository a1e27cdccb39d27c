"""One factor fitted to several readings."""

import numpy as np
import pytest

from sim.tally.common_factor import chi_square_tail, common_factor
from sim.tally.statistics import estimate

REPLICATES = 64


def replicates(means: list[float], noise: float, seed: int = 1) -> np.ndarray:
    rng = np.random.Generator(np.random.Philox(seed))
    return np.array(means) * (1.0 + noise * rng.standard_normal((REPLICATES, len(means))))


def test_a_single_reading_is_met_exactly() -> None:
    computed = replicates([2.0], 0.1)
    fit = common_factor([6.0], [0.05], computed)
    assert fit.value == pytest.approx(6.0 / computed.mean())
    assert fit.deviation == pytest.approx(1.0 - computed[:, 0] / computed.mean())
    assert (0.05, 0, 1.0) == (pytest.approx(fit.stated_error), fit.freedom, fit.chance)


def test_without_noise_it_is_the_mean_weighted_by_squared_errors() -> None:
    # Ratios 3 and 3.3 with errors of 10 % and 5 %: weights 1/5 and 4/5.
    fit = common_factor([6.0, 3.3], [0.1, 0.05], np.tile([2.0, 1.0], (REPLICATES, 1)))
    assert fit.weights == pytest.approx([0.2, 0.8])
    assert fit.value == pytest.approx(3.24)
    assert fit.stated_error == pytest.approx(0.05 * np.sqrt(0.8))
    left = np.array([3.0, 3.3]) / 3.24 - 1.0
    assert fit.chi_square == pytest.approx((left[0] / 0.1) ** 2 + (left[1] / 0.05) ** 2)


def test_a_noisy_computation_counts_less() -> None:
    computed = replicates([1.0, 1.0], 0.0)
    computed[:, 0] = replicates([1.0], 0.8, seed=2)[:, 0]
    fit = common_factor([1.0, 1.0], [0.05, 0.05], computed)
    assert fit.weights[0] < 0.35 < fit.weights[1]


def test_replicates_hold_the_error_of_the_computation() -> None:
    # Three readings of equal weight with 8 % noise in a replicate: 8 % / sqrt(3 x 64).
    fit = common_factor([1.0] * 3, [0.05] * 3, replicates([1.0] * 3, 0.08))
    assert float(fit.deviation.mean()) == pytest.approx(0.0, abs=1e-12)
    assert float(estimate(fit.deviation).se) == pytest.approx(0.08 / np.sqrt(3 * 64), rel=0.25)


def test_the_chance_is_as_often_small_as_it_says() -> None:
    # 2000 right tables of four readings: doubted at 1 % in 20 +- 4.5 of them; 38 would be 4 sigma.
    rng = np.random.Generator(np.random.Philox(7))
    computed = replicates([4.0, 2.0, 1.0, 0.5], 0.01)
    stated = 3.0 * computed.mean(axis=0) * (1.0 + 0.05 * rng.standard_normal((2000, 4)))
    chances = np.array([common_factor(row, [0.05] * 4, computed).chance for row in stated])
    assert 2 <= int((chances < 0.01).sum()) <= 38
    assert float((chances < 0.5).mean()) == pytest.approx(0.5, abs=0.05)


def test_tail_of_chi_square() -> None:
    # Tables of chi-square: 23.209 and 21.666 are the 1 % points for 10 and 9 degrees of freedom.
    assert chi_square_tail(23.209, 10) == pytest.approx(0.01, rel=1e-4)
    assert chi_square_tail(21.666, 9) == pytest.approx(0.01, rel=1e-4)
