"""Differences of two results: where cells are the same places, and with errors that know of shared noise."""

from dataclasses import replace

import numpy as np
import pytest

from sim.analysis.comparison import Comparison, ComparisonError, beyond_error, difference
from sim.analysis.selection import Selection
from sim.tally.result import Result
from sim.tally.statistics import estimate
from tests.support.synthetic_result import Patch, box_patches, make_result, terrarium_patches, tube_field, uniform


def compared(first: Result, second: Result) -> Comparison:
    return Comparison(Selection(first), Selection(second))


def variant(strength: float, seed: int = 1, noise: float = 0.1) -> Result:
    return make_result(terrarium_patches(), tube_field(strength), noise=noise, replicates=32, seed=seed)


def test_a_difference_is_second_less_first_cell_by_cell() -> None:
    pair = compared(variant(0.8, noise=0.0), variant(1.0, noise=0.0))
    floor = next(one for one in pair.pairs if (one.first.kind, one.name) == ("surface", "floor"))
    expected = pair.second.found.mean - pair.first.found.mean
    np.testing.assert_allclose(pair.difference(floor).mean, expected[floor.first.rows], rtol=1e-9)
    assert pair.mean_difference(floor).mean[0] == pytest.approx(
        float(pair.means(floor)[1].mean - pair.means(floor)[0].mean)
    )


def test_runs_from_one_seed_cancel_their_shared_noise() -> None:
    shared, apart = compared(variant(0.8), variant(0.81)), compared(variant(0.8), variant(0.81, seed=2))
    floor = next(one for one in shared.pairs if (one.first.kind, one.name) == ("surface", "floor"))
    assert np.median(shared.difference(floor).se) < 0.05 * np.median(apart.difference(floor).se)
    assert beyond_error(shared.difference(floor)).mean() > 0.99
    assert beyond_error(apart.difference(floor)).mean() < 0.2


def test_equal_runs_differ_nowhere_more_often_than_their_interval_says() -> None:
    # 95 % intervals: 5 % of 1,000 equal cells show a difference, 50 give or take 6.9; four of them are allowed.
    rng = np.random.Generator(np.random.Philox(11))
    one, other = rng.standard_normal((2, 64, 1000))
    assert 22 < beyond_error(difference(one, other)).sum() < 78


def test_other_numbers_of_replicates_add_in_quadrature() -> None:
    rng = np.random.Generator(np.random.Philox(5))
    one, other = rng.standard_normal((64, 10)), 1.0 + rng.standard_normal((32, 10))
    found = difference(one, other)
    np.testing.assert_allclose(found.se, np.hypot(estimate(one).se, estimate(other).se))
    np.testing.assert_allclose(found.mean, other.mean(axis=0) - one.mean(axis=0))
    assert 32 == found.replicates


def test_what_is_elsewhere_or_has_other_cells_is_left_out() -> None:
    def box(patches: list[Patch]) -> Result:
        return make_result(patches, uniform(1.0), replicates=4)

    patches = box_patches()
    moved = [replace(patches[0], origin=(0, 0, 0.1)), *patches[1:]]
    coarser = [replace(patches[0], shape=(12, 6)), *patches[1:]]
    for other in (moved, coarser):
        pair = compared(box(patches), box(other))
        assert ("floor",) == pair.left_out
        assert ["ceiling", "front", "back", "left", "right"] == [one.name for one in pair.pairs]


def test_nothing_in_common() -> None:
    wall, ceiling = (make_result([box_patches()[k]], uniform(1.0), replicates=4) for k in (0, 1))
    with pytest.raises(ComparisonError, match="no surface, sensor or zone in common"):
        compared(wall, ceiling).pairs  # noqa: B018  # it is the access that raises
