"""Zones against their targets."""

from typing import Any

import numpy as np
import pytest

from sim.analysis.maps import Maps
from sim.analysis.verdict import CLOSE, INSIDE, NO_TARGET, OUTSIDE
from sim.analysis.zones import ZoneReport, covered_share, zone_reports
from tests.support.synthetic_result import Field, Patch, make_result, uniform


def zone(field: Field, noise: float = 0.01, role: str = "basking", **target: Any) -> ZoneReport:  # noqa: ANN401
    detail = {"role": role, "mean": None, "max": None, "share": None, "height_m": 0.03} | target
    patch = Patch("zone", "place", (0.2, 0.2, 0.1), (0.4, 0, 0), (0, 0.2, 0), (8, 4), detail)
    return zone_reports(Maps(make_result([patch], field, noise=noise)))[0]


def test_inside() -> None:
    report = zone(uniform(1.8), mean=[1.0, 2.6], max=7.4, share=0.8)
    assert report.verdict.words == INSIDE
    assert float(report.uvi.mean) == pytest.approx(1.8, rel=2e-3)
    assert report.covered is not None
    assert (report.covered.share, report.covered.surely) == (1.0, 1.0)
    assert report.height == 0.03
    assert report.exposure_zone.zone == 3


def test_mean_too_low_is_named() -> None:
    report = zone(uniform(0.4), mean=[1.0, 2.6], max=7.4)
    assert report.verdict.outcome == OUTSIDE
    assert [part.name for part in report.verdict.deciding] == ["mean"]
    assert report.verdict.words.endswith("is below 1")


def test_one_place_over_the_highest_is_named_though_the_mean_is_right() -> None:
    def field(centre: np.ndarray, normal: np.ndarray) -> np.ndarray:
        return np.where(np.hypot(centre[:, 0] - 0.425, centre[:, 1] - 0.275) < 0.01, 9.0, 1.5)

    report = zone(field, mean=[1.0, 2.6], max=7.4)
    assert [part.name for part in report.verdict.deciding] == ["max"]
    assert report.verdict.words.endswith("is over 7.4")
    assert report.high.position == pytest.approx((0.425, 0.275, 0.1))
    assert report.high.settled
    assert report.low.value == pytest.approx(1.5, rel=5e-3)


def test_too_little_covered_is_named() -> None:
    report = zone(lambda centre, normal: np.where(centre[:, 0] < 0.4, 0.5, 2.0), mean=[1.0, 2.6], share=0.8)
    assert [part.name for part in report.verdict.deciding] == ["share"]
    assert report.covered is not None
    assert report.covered.share == 0.5


def test_a_mean_on_its_bound_is_too_close_to_tell() -> None:
    report = zone(uniform(1.0), noise=0.2, mean=[1.0, 2.6])
    assert report.verdict.outcome == CLOSE
    assert "cannot be told from the bound 1" in report.verdict.words
    assert report.verdict.photon_factor > 1.0


def test_noisy_cells_do_not_pass_for_uncovered_area() -> None:
    # Every cell is truly within the band, but half of them read outside: that must not be called a failure.
    report = zone(uniform(1.8), noise=5.0, mean=[1.5, 2.1], share=0.9)
    assert report.covered is not None
    assert report.covered.share < 0.8
    assert report.verdict.outcome == CLOSE


@pytest.mark.parametrize(("uvi", "outcome"), [(0.0, INSIDE), (0.2, INSIDE), (0.9, OUTSIDE)])
def test_a_refuge_cannot_be_too_dark(uvi: float, outcome: str) -> None:
    report = zone(uniform(uvi), role="refuge", mean=[0.3, 0.7], share=0.5)
    assert report.verdict.outcome == outcome
    assert report.covered is not None
    assert report.covered.share == (1.0 if outcome == INSIDE else 0.0)


def test_no_target_is_reported_without_a_verdict() -> None:
    report = zone(uniform(1.0), role="passage")
    assert report.verdict.outcome == NO_TARGET
    assert report.covered is None
    assert report.target.words == "none set"


def test_words_of_a_target() -> None:
    report = zone(uniform(1.0), mean=[1.0, 2.6], max=7.4, share=0.8)
    expected = "mean UVI 1 to 2.6, nowhere over 7.4, within those bounds on 80 % of the area"
    assert report.target.words == expected


def test_covered_share_counts_area_and_both_bounds() -> None:
    values = np.tile([0.5, 1.0, 2.6, 3.0], (8, 1))
    covered = covered_share(values, np.array([0.1, 0.2, 0.3, 0.4]), 1.0, 2.6)
    assert (covered.share, covered.surely, covered.at_most) == (0.5, 0.5, 0.5)
    sure = covered_share(values, np.array([0.1, 0.2, 0.3, 0.4]), 0.9, 2.7)
    assert (sure.share, sure.between, sure.reach) == (0.5, (0.5, 0.5), 0.0)


def test_covered_share_may_be_off_by_cells_that_are_near_a_bound() -> None:
    rng = np.random.default_rng(2)
    values = np.array([0.2, 1.01, 1.5, 2.0]) + 0.1 * rng.standard_normal((16, 4))
    covered = covered_share(values, np.array([0.1, 0.2, 0.3, 0.4]), 1.0, 2.6)
    assert covered.surely == pytest.approx(0.7)
    assert covered.between[0] <= 0.7
    assert covered.reach >= covered.share - 0.7 > 0.1


def test_the_whole_area_is_all_of_it_however_many_cells() -> None:
    assert zone(uniform(1.8), mean=[1.0, 2.6], share=1.0).verdict.outcome == INSIDE


def test_other_quantities_stand_in_their_known_ratios() -> None:
    report = zone(uniform(2.0))
    assert float(report.others["erythema"].mean) == pytest.approx(float(report.uvi.mean) / 40.0)
    assert report.others["uvb-315"].mean < report.others["uvb-320"].mean
