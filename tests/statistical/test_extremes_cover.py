"""The highest of noisy cells: its interval must hold the truth, which the greatest cell mean's does not."""

from collections.abc import Callable

import numpy as np
import pytest

from sim.analysis.extremes import highest, lowest
from sim.tally.statistics import estimate
from tests.support.synthetic_result import FloatArray

RUNS = 400
REPLICATES = 32
TRUTH = 2.0
# The lower end of a two-sided 99.9 % acceptance of a binomial of 400 draws at 0.95, and the whole of it
# (scipy.stats.binom.ppf). Fixed seeds, no reruns.
LEAST, MOST = 364, 393


def draws(seed: int, cells: int = 200, spread: FloatArray | float = 0.0) -> FloatArray:
    rng = np.random.Generator(np.random.Philox(seed))
    return TRUTH + spread + 0.4 * rng.standard_normal((REPLICATES, cells))


def equal(values: FloatArray) -> FloatArray:
    return np.full(values.shape[1], 1.0 / values.shape[1])


def covers(values: FloatArray) -> bool:
    found = highest(values, equal(values)).found
    return bool(abs(found.mean - TRUTH) <= found.half_width)


def covers_low(values: FloatArray) -> bool:
    found = lowest(values, equal(values)).found
    return bool(abs(found.mean - TRUTH) <= found.half_width)


def greatest_cell_covers(values: FloatArray) -> bool:
    each = estimate(values)
    top = int(np.argmax(each.mean))
    return bool(abs(each.mean[top] - TRUTH) <= each.half_width[top])


@pytest.mark.parametrize("held", [covers, covers_low], ids=["highest", "lowest"])
@pytest.mark.parametrize("cells", [2, 3, 8, 16, 200])
def test_interval_of_a_uniform_field_covers_its_value(held: Callable[[FloatArray], bool], cells: int) -> None:
    # No upper limit: the interval is meant to be too wide rather than too narrow.
    assert sum(held(draws(seed, cells)) for seed in range(RUNS)) >= LEAST


def test_the_greatest_cell_mean_does_not() -> None:
    assert sum(greatest_cell_covers(draws(seed)) for seed in range(RUNS)) < 0.1 * RUNS


@pytest.mark.parametrize("height", [1.0, 0.15])
def test_a_true_peak_is_covered_too(height: float) -> None:
    # Standard error of a cell: 0.07. The high peak stands out; the low one drowns among 200 cells, and what its
    # interval holds is the value of a place that is truly there: the peak or the plain.
    peak = np.zeros(200)
    peak[17] = height
    drawn = (draws(seed, spread=peak) for seed in range(RUNS))
    found = [highest(values, equal(values)).found for values in drawn]
    held = sum(bool(TRUTH - one.half_width <= one.mean <= TRUTH + height + one.half_width) for one in found)
    assert held >= LEAST
    if height == 1.0:
        assert sum(bool(abs(one.mean - TRUTH - height) <= one.half_width) for one in found) <= MOST


def test_on_average_it_is_not_above_the_true_highest() -> None:
    # Cells of many nearly equal values: picks are uncertain. One-sided z-test at 0.1 %.
    spread = np.linspace(0.0, 0.1, 200)
    drawn = (draws(seed, spread=spread) for seed in range(RUNS))
    values = np.array([float(highest(one, equal(one)).found.mean) for one in drawn])
    excess = values.mean() - (TRUTH + 0.1)
    assert excess < 3.09 * values.std(ddof=1) / np.sqrt(RUNS)


def test_the_bound_holds_for_all_cells_at_once() -> None:
    # Bonferroni promises 97.5 %; 400 draws at 0.975 reach 380 with a chance above 99.9 %.
    assert sum(highest(draws(seed), np.full(200, 0.005)).bound >= TRUTH for seed in range(RUNS)) >= 380
