"""Hot spots over many runs: a surface that lies on its limit is rarely called surely over it."""

from sim.analysis.coverage import answer
from tests.support.synthetic_result import Patch, make_result, uniform

LIMIT = {"role": "basking", "mean": None, "max": 3.0, "share": None}
PATCHES = [
    Patch("reach", "floor", (0, 0, 0.03), (1.2, 0, 0), (0, 0.6, 0), (24, 12)),
    Patch("zone", "mild", (0.2, 0.2, 0.03), (0.2, 0, 0), (0, 0.2, 0), (4, 4), LIMIT),
]
RUNS = 60


def surely(truth: float) -> int:
    runs = (answer(make_result(PATCHES, uniform(truth), noise=0.2, seed=seed)) for seed in range(RUNS))
    return sum(spot.sure for told in runs for spot in told.hot_spots)


def test_on_the_limit() -> None:
    # Two surfaces a run, two criteria of 2.5 % each: 120 draws at 0.05 exceed 14 in one of a thousand.
    assert surely(3.0) <= 14


def test_well_over_the_limit() -> None:
    assert surely(3.6) == 2 * RUNS
