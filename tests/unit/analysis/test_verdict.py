"""Verdicts: intervals against bounds."""

import math

import pytest

from sim.analysis.verdict import (
    CLOSE,
    INSIDE,
    NO_TARGET,
    OUTSIDE,
    Criterion,
    Interval,
    Outcome,
    combine,
    judge,
    photons_wanted,
)


@pytest.mark.parametrize(
    ("value", "half", "outcome", "factor"),
    [
        (1.5, 0.1, INSIDE, 1.0),
        (1.1, 0.1, INSIDE, 1.0),  # an end on the bound is inside
        (0.8, 0.1, OUTSIDE, 1.0),
        (2.8, 0.1, OUTSIDE, 1.0),
        (1.05, 0.1, CLOSE, 4.0),  # 0.1 must shrink to 0.05: four times the photons
        (0.95, 0.1, CLOSE, 4.0),
        (2.65, 0.1, CLOSE, 4.0),
        (1.8, 1.6, CLOSE, 4.0),  # 0.8 to either bound
        (1.0, 0.1, CLOSE, math.inf),
    ],
)
def test_judge(value: float, half: float, outcome: Outcome, factor: float) -> None:
    found = judge(Interval(value, value - half, value + half), 1.0, 2.6)
    assert found[0] == outcome
    assert found[1] == pytest.approx(factor)


def test_an_infinite_bound_is_none() -> None:
    assert judge(Interval(0.5, -9.0, 0.6), -math.inf, 0.7) == (INSIDE, 1.0)


def test_uneven_interval_takes_the_side_that_matters() -> None:
    assert judge(Interval(6.0, 5.9, 8.0), -math.inf, 7.0) == (CLOSE, 4.0)
    assert judge(Interval(7.1, 6.9, 9.0), -math.inf, 7.0)[1] == pytest.approx(4.0)


def criterion(name: str, outcome: Outcome, factor: float = 1.0) -> Criterion:
    return Criterion(name, outcome, f"{name} is {outcome}", factor)  # type: ignore[arg-type]


def test_one_criterion_outside_is_outside_and_is_named() -> None:
    verdict = combine((criterion("mean", INSIDE), criterion("max", OUTSIDE), criterion("share", CLOSE, 5.0)))
    assert verdict.outcome == OUTSIDE
    assert [part.name for part in verdict.deciding] == ["max"]
    assert verdict.words == "outside the target: max is outside the target"


def test_one_criterion_open_is_open_and_the_hardest_sets_the_photons() -> None:
    verdict = combine((criterion("mean", CLOSE, 2.5), criterion("max", CLOSE, 7.0), criterion("share", INSIDE)))
    assert verdict.outcome == CLOSE
    assert verdict.photon_factor == 7.0
    assert verdict.words.endswith("about 8 times the photons would tell")


def test_all_inside_is_inside_and_nothing_is_no_target() -> None:
    assert combine((criterion("mean", INSIDE), criterion("max", INSIDE))).words == INSIDE
    assert combine(()).outcome == NO_TARGET


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (1.01, "about 2 times the photons would tell"),
        (4.0, "about 5 times the photons would tell"),
        (23.0, "about 30 times the photons would tell"),
        (math.inf, "it sits on the bound, and more photons would hardly tell"),
    ],
)
def test_photons_wanted(factor: float, words: str) -> None:
    assert photons_wanted(factor) == words
