"""A long run is looked at meanwhile, ever more seldom; a short one is not."""

import time

import pytest

from sim.simulate.glimpses import Glimpses


def shown_at(monkeypatch: pytest.MonkeyPatch, whole_s: float, cost_s: float, until_s: float) -> list[float]:
    """Return the seconds at which a run is shown that takes so long in all and is offered eight times a second."""
    now, shown = 0.0, list[float]()
    monkeypatch.setattr(time, "monotonic", lambda: now)

    def show() -> None:
        nonlocal now
        shown.append(now)
        now += cost_s

    glimpses = Glimpses(show)
    while now < until_s:
        now += 0.125
        glimpses.offer(now / whole_s)
    return shown


def test_a_short_run_is_not_shown_before_it_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    assert [] == shown_at(monkeypatch, whole_s=1.05, cost_s=0.25, until_s=1.05)


def test_a_long_run_is_shown_at_once_and_then_each_time_that_it_took_four_times_as_long(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert [0.125, 1.5, 7.0, 29.0] == shown_at(monkeypatch, whole_s=60.0, cost_s=0.25, until_s=60.0)


def test_nothing_is_shown_at_the_end_or_where_the_share_is_not_known(monkeypatch: pytest.MonkeyPatch) -> None:
    assert [0.125, 1.5] == shown_at(monkeypatch, whole_s=6.0, cost_s=0.25, until_s=6.0)
    shown: list[int] = []
    Glimpses(lambda: shown.append(1)).offer(0.0)
    assert [] == shown
