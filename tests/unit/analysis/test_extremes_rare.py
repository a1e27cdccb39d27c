"""A place made bright by one rare path must not hide a place that is bright for sure."""

import numpy as np

from sim.analysis.extremes import highest


def test_rare_outliers_do_not_hide_a_bright_place() -> None:
    rng = np.random.default_rng(7)
    values = rng.normal(0.5, 0.05, size=(64, 40))
    values[:, 3] = rng.normal(2.0, 0.2, size=64)
    # Two cells with one huge reading each, in halves that pick for each other: their means are above 2.
    values[10, 20] = 150.0
    values[11, 30] = 150.0
    found = highest(values, np.full(40, 1.0 / 40.0)).found
    assert abs(float(found.mean) - 2.0) < 3.0 * float(found.se)
    assert float(found.se) < 0.1
