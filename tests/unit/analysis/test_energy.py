"""Where the power goes: sums and errors."""

from dataclasses import replace

import numpy as np
import pytest

from sim.analysis.energy import power_budget
from sim.tally.result import Energy, Result
from tests.support.synthetic_result import TUBE, make_result, terrarium_patches, uniform

LAMPS, BANDS, REPLICATES = 2, 3, 64


@pytest.fixture
def result() -> Result:
    """Two lamps of 1 W and 2 W whose parts scatter by a tenth, all of what the first sends to the floor kept there."""
    rng = np.random.Generator(np.random.Philox(3))
    floor = np.stack([np.full(REPLICATES, 1.0), 1.2 + 0.12 * rng.standard_normal(REPLICATES)], axis=1)
    escaped = np.array([1.0, 2.0]) - floor
    samples = np.stack([floor, np.zeros_like(floor), escaped, np.zeros_like(floor)], axis=1)
    mean = samples.mean(axis=0)[:, :, None] / BANDS * np.ones(BANDS)
    emitted = np.array([[1.0], [2.0]]) / BANDS * np.ones(BANDS)
    energy = Energy(emitted, mean[2], mean[3], mean[:2], ("floor", "dark"), samples)
    return replace(
        make_result(terrarium_patches(), uniform(1.0), lamps=[("a", TUBE, 0.4), ("b", TUBE, 0.6)]), energy=energy
    )


def test_parts_add_up_and_have_the_errors_of_their_scatter(result: Result) -> None:
    budget = power_budget(result)
    assert float(budget.emitted.power.mean) == pytest.approx(3.0)
    parts = (budget.absorbed, budget.escaped, budget.unfinished)
    assert sum(float(part.power.mean) for part in parts) == pytest.approx(3.0)
    floor, samples = budget.absorbed_by["floor"], result.energy.samples
    assert samples is not None
    se = samples[:, 0].sum(axis=1).std(ddof=1) / 8.0
    assert float(floor.power.se) == pytest.approx(se)
    # The whole is known, so the share is linear; a bootstrap of 400 draws knows an error to 1 / sqrt(800), 3.5 %.
    assert floor.share.se == pytest.approx(se / 3.0, rel=0.12)
    assert float(budget.escaped.power.se) == pytest.approx(se)


def test_what_is_known_has_no_error(result: Result) -> None:
    budget = power_budget(result)
    known = (budget.emitted, budget.unfinished, budget.absorbed_by["dark"])
    assert [(0.0, 0.0)] * 3 == [(float(part.power.se), part.share.se) for part in known]
    assert [(1.0, 0.0), (2.0, 0.0)] == [(float(lamp.mean), float(lamp.se)) for lamp in budget.of_lamps]


def test_levels_dim_each_lamp(result: Result) -> None:
    budget = power_budget(result, [1.0, 0.0])
    assert (1.0, 1.0) == pytest.approx((float(budget.emitted.power.mean), budget.absorbed_by["floor"].share.value))
    assert (0.0, 0.0) == (float(budget.absorbed_by["floor"].power.se), float(budget.of_lamps[1].mean))


def test_results_without_samples_tell_sums_alone(result: Result) -> None:
    budget = power_budget(replace(result, energy=replace(result.energy, samples=None)))
    floor = budget.absorbed_by["floor"]
    assert floor.share.value == pytest.approx(float(floor.power.mean) / 3.0)
    assert np.isnan([float(floor.power.se), floor.share.se, floor.share.half_width]).all()
