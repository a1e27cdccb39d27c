"""Verdicts over many runs: a zone that is inside its target is not called outside, nor the other way round."""

from collections import Counter

import numpy as np
import pytest

from sim.analysis.maps import Maps
from sim.analysis.verdict import CLOSE, INSIDE, OUTSIDE
from sim.analysis.zones import zone_reports
from tests.support.synthetic_result import Field, Patch, make_result, uniform

RUNS = 200
TARGET = {"role": "basking", "mean": [1.0, 2.6], "max": 3.0, "share": 0.8}
ZONE = Patch("zone", "basking", (0, 0, 0), (0.4, 0, 0), (0, 0.3, 0), (8, 6), TARGET)


def verdicts(field: Field, noise: float) -> Counter[str]:
    results = (make_result([ZONE], field, noise=noise, replicates=32, seed=seed) for seed in range(RUNS))
    return Counter(zone_reports(Maps(result))[0].verdict.outcome for result in results)


@pytest.mark.parametrize("noise", [0.1, 1.0, 3.0])
def test_a_good_zone_is_not_called_bad(noise: float) -> None:
    # Three criteria, each wrong in at most 2.5 % on the side of "outside": at most 7.5 %; 200 draws at 0.075 exceed
    # 28 in one of a thousand.
    assert verdicts(uniform(1.8), noise)[OUTSIDE] <= 28


@pytest.mark.parametrize(("uvi", "noise"), [(0.9, 1.0), (0.98, 1.0), (2.7, 1.0), (3.1, 3.0)])
def test_a_bad_zone_is_not_called_good(uvi: float, noise: float) -> None:
    # The mean alone is told inside in at most 2.5 %: 200 draws at 0.025 exceed 13 in one of a thousand.
    assert verdicts(uniform(uvi), noise)[INSIDE] <= 13


def test_one_bright_cell_is_not_overlooked() -> None:
    def field(centre: np.ndarray, normal: np.ndarray) -> np.ndarray:
        return np.where(np.hypot(centre[:, 0] - 0.125, centre[:, 1] - 0.125) < 0.01, 3.2, 1.5)

    # A bound over all cells at 97.5 %: 200 draws at 0.025 exceed 13 in one of a thousand.
    assert verdicts(field, 0.5)[INSIDE] <= 13


def test_few_photons_leave_it_open_and_many_tell() -> None:
    assert verdicts(uniform(1.8), 3.0)[CLOSE] > 0.9 * RUNS
    assert verdicts(uniform(1.8), 0.1)[INSIDE] > 0.99 * RUNS


def test_the_photons_asked_for_would_tell() -> None:
    # The factor aims at the mean as it reads; with twice as many as asked, most zones near a bound are told.
    noise, told, asked = 0.5, 0, 0
    for seed in range(100):
        report = zone_reports(Maps(make_result([ZONE], uniform(1.03), noise=noise, replicates=32, seed=seed)))[0]
        mean = next(part for part in report.verdict.criteria if part.name == "mean")
        if mean.outcome == CLOSE and mean.factor < 50:
            asked += 1
            finer = noise / np.sqrt(2.0 * mean.factor)
            again = make_result([ZONE], uniform(1.03), noise=finer, replicates=32, seed=1000 + seed)
            criteria = zone_reports(Maps(again))[0].verdict.criteria
            told += next(part for part in criteria if part.name == "mean").outcome != CLOSE
    assert asked > 10
    assert told > 0.5 * asked
