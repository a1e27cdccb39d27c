"""Gauss-Legendre rules over breakpoints, and one-sided limits of piecewise-linear curves."""

import numpy as np
import pytest

from sim.spectra.piecewise import add_curves, limit
from sim.spectra.quadrature import gauss_nodes, points_between


def test_a_rule_is_exact_for_quintics_on_every_interval() -> None:
    points = np.array([-1.0, 0.5, 0.75, 2.0])
    nodes, weights = gauss_nodes(points, 0.3)
    assert nodes.size == 3 * (5 + 1 + 5)
    assert np.all(np.diff(nodes) > 0)
    for degree in range(6):
        exact = (2.0 ** (degree + 1) - (-1.0) ** (degree + 1)) / (degree + 1)
        assert weights @ nodes**degree == pytest.approx(exact, rel=1e-13)


def test_no_node_lies_on_a_breakpoint() -> None:
    nodes, _ = gauss_nodes(np.arange(250.0, 401.0))
    assert not np.any(nodes == np.round(nodes))


def test_points_between_are_sorted_unique_and_inside() -> None:
    points = points_between(280.0, 300.0, np.array([310.0, 290.0, 279.0]), np.array([290.0, 300.0, 281.0]))
    assert points.tolist() == [280.0, 281.0, 290.0, 300.0]


def test_limits_differ_on_steps_and_ends_alone() -> None:
    at = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    curve = (np.array([1.0, 2.0, 2.0, 3.0]), np.array([4.0, 6.0, 1.0, 2.0]))
    assert limit(at, *curve, side="left").tolist() == [0.0, 0.0, 6.0, 2.0, 0.0]
    assert limit(at, *curve, side="right").tolist() == [0.0, 4.0, 1.0, 0.0, 0.0]


def test_no_curve_is_zero() -> None:
    assert limit(np.array([1.0]), np.zeros(0), np.zeros(0), side="left").tolist() == [0.0]
    assert [part.size for part in add_curves([])] == [0, 0]


def test_a_sum_keeps_a_step_only_where_one_is() -> None:
    first = (np.array([0.0, 4.0]), np.array([1.0, 1.0]))
    second = (np.array([1.0, 2.0, 3.0]), np.array([0.0, 5.0, 5.0]))
    abscissae, ordinates = add_curves([first, second])
    assert abscissae.tolist() == [0, 1, 2, 3, 3, 4]
    assert ordinates.tolist() == [1, 1, 6, 6, 1, 1]
