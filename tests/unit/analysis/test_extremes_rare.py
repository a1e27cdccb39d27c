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


def test_a_pick_among_more_cells_reads_lower_where_rare_paths_make_cells_bright() -> None:
    """What the note beside two highest values says: a zone can read higher than all that it is a part of."""
    rng = np.random.default_rng(3)
    true = np.where(np.arange(600) < 20, 1.5, 1.0)
    apart = np.zeros(100)
    for run in range(len(apart)):
        values = true * (0.5 + 0.5 * rng.gamma(0.1, 10.0, size=(64, 600)))
        zone, reach = (highest(part, np.full(part.shape[1], 1.0 / part.shape[1])) for part in (values[:, :20], values))
        apart[run] = zone.found.mean - reach.found.mean
        assert zone.bound > 1.5
    assert apart.mean() > 3.0 * apart.std(ddof=1) / np.sqrt(len(apart))
