"""The highest of noisy cells: its interval must hold the truth, which the greatest cell mean's does not."""

from collections.abc import Callable

import numpy as np
import pytest

from sim.analysis.extremes import highest, lowest
from sim.tally.statistics import estimate
from tests.support.synthetic_result import FloatArray

RUNS = 400
REPLICATES = 32
CELLS = 200
TRUTH = 2.0
# Two-sided 99.9 % acceptance of a binomial of 400 draws at 0.95 (scipy.stats.binom.ppf): fixed seed, no reruns.
LEAST, MOST = 364, 393
# Two-sided 99.9 % acceptance at 0.975. In a uniform field the value is held at the area mean or above with the width of
# one cell's error, so that only one of the two sides is ever missed.
LEAST_UNIFORM, MOST_UNIFORM = 378, 398


def draws(seed: int, spread: FloatArray | float = 0.0) -> FloatArray:
    rng = np.random.Generator(np.random.Philox(seed))
    return TRUTH + spread + 0.4 * rng.standard_normal((REPLICATES, CELLS))


WEIGHTS = np.full(CELLS, 1.0 / CELLS)


def covers(values: FloatArray) -> bool:
    found = highest(values, WEIGHTS).found
    return bool(abs(found.mean - TRUTH) <= found.half_width)


def covers_low(values: FloatArray) -> bool:
    found = lowest(values, WEIGHTS).found
    return bool(abs(found.mean - TRUTH) <= found.half_width)


def greatest_cell_covers(values: FloatArray) -> bool:
    each = estimate(values)
    top = int(np.argmax(each.mean))
    return bool(abs(each.mean[top] - TRUTH) <= each.half_width[top])


@pytest.mark.parametrize("held", [covers, covers_low], ids=["highest", "lowest"])
def test_interval_of_a_uniform_field_covers_its_value(held: Callable[[FloatArray], bool]) -> None:
    assert LEAST_UNIFORM <= sum(held(draws(seed)) for seed in range(RUNS)) <= MOST_UNIFORM


def test_the_greatest_cell_mean_does_not() -> None:
    assert sum(greatest_cell_covers(draws(seed)) for seed in range(RUNS)) < 0.1 * RUNS


def test_a_true_peak_is_covered_too() -> None:
    peak = np.zeros(CELLS)
    peak[17] = 1.0
    found = [highest(draws(seed, peak), WEIGHTS).found for seed in range(RUNS)]
    held = sum(bool(abs(one.mean - TRUTH - 1.0) <= one.half_width) for one in found)
    assert LEAST <= held <= MOST


def test_on_average_it_is_never_above_the_true_highest() -> None:
    # Cells of many nearly equal values: picks are uncertain. One-sided z-test at 0.1 %.
    spread = np.linspace(0.0, 0.1, CELLS)
    values = np.array([float(highest(draws(seed, spread), WEIGHTS).found.mean) for seed in range(RUNS)])
    excess = values.mean() - (TRUTH + 0.1)
    assert excess < 3.09 * values.std(ddof=1) / np.sqrt(RUNS)


def test_the_bound_holds_for_all_cells_at_once() -> None:
    # Bonferroni promises 97.5 %; 400 draws at 0.975 reach 380 with a chance above 99.9 %.
    assert sum(highest(draws(seed), WEIGHTS).bound >= TRUTH for seed in range(RUNS)) >= 380
