"""Student's t against another library and against distributions that have a closed form."""

import math

import numpy as np
import pytest
from scipy.special import stdtr, stdtrit

from sim.tally.statistics import t_factor
from sim.tally.student import t_quantile, t_tail

FREEDOM = (1, 2, 3, 5, 10, 31, 63, 127, 1000)


@pytest.mark.parametrize("freedom", FREEDOM)
def test_tails_are_those_of_another_library(freedom: int) -> None:
    for t in (0.0, 1e-3, 0.01, 0.3, 1.0, 1.7, 2.5, 6.0, 30.0):
        # Tails far out are small numbers; they must be right, too.
        assert t_tail(freedom, t) == pytest.approx(stdtr(freedom, -t), rel=1e-12)


@pytest.mark.parametrize("freedom", FREEDOM)
def test_quantiles_are_those_of_another_library(freedom: int) -> None:
    for beyond in (0.5, 0.49, 0.16, 0.025, 1e-3, 1e-6, 1e-9):
        assert t_quantile(freedom, beyond) == pytest.approx(-stdtrit(freedom, beyond), rel=1e-11, abs=1e-15)
        assert t_tail(freedom, t_quantile(freedom, beyond)) == pytest.approx(beyond, rel=1e-12)


def test_one_and_two_degrees_of_freedom_have_closed_forms() -> None:
    for beyond in np.geomspace(1e-12, 0.5, 20):
        share = float(beyond)
        assert t_quantile(1, share) == pytest.approx(1.0 / math.tan(math.pi * share), rel=1e-12, abs=1e-15)
        closed = (1.0 - 2.0 * share) / math.sqrt(2.0 * share * (1.0 - share))
        assert t_quantile(2, share) == pytest.approx(closed, rel=1e-12, abs=1e-15)


def test_the_factor_of_an_interval_has_half_of_what_is_left_on_either_side() -> None:
    assert t_factor(64) == pytest.approx(1.998340542520741, rel=1e-12)  # tables: 1.998
    assert t_factor(64, 0.5) < t_factor(64) < t_factor(4)


@pytest.mark.parametrize("beyond", [0.0, -0.1, 0.6, math.nan])
def test_what_is_no_tail_is_refused(beyond: float) -> None:
    with pytest.raises(ValueError, match="outside 0 to 1/2"):
        t_quantile(63, beyond)
