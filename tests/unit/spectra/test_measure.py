"""Point masses that stand for many others."""

import numpy as np
import pytest

from sim.spectra.measure import Measure

EDGES = np.array([300.0, 300.5, 301.0, 302.0, 303.0])
BANDS = np.array([0, 0, 1, 1])


def masses(count: int, seed: int) -> Measure:
    """Masses of all sizes at random, none of them in the third cell, and one alone on the top edge."""
    rng = np.random.Generator(np.random.PCG64(seed))
    places = np.append(rng.uniform(300.0, 301.0, count), 303.0)
    cell = np.minimum(np.searchsorted(EDGES, places, side="right") - 1, 3)
    return Measure(places, rng.exponential(1.0, count + 1) ** 3, BANDS[cell], 2)


@pytest.mark.parametrize("count", [1, 2, 3, 400])
def test_cubics_have_the_same_integrals_in_every_band(count: int) -> None:
    whole = masses(count, count)
    few = whole.condensed(EDGES)
    assert len(few.mass) <= 2 * 3
    assert few.mass.min() >= 0.0
    for degree in range(4):
        expected = whole.integral((whole.wavelength_nm - 301.0) ** degree)
        np.testing.assert_allclose(few.integral((few.wavelength_nm - 301.0) ** degree), expected, rtol=1e-11)


def test_no_mass_leaves_the_range_of_those_that_it_stands_for() -> None:
    # All but all of the mass at one end: a rule with equal masses would go beyond it.
    whole = Measure(np.array([300.1, 300.4]), np.array([1.0, 1e-6]), np.array([0, 0]), 2)
    few = whole.condensed(EDGES)
    np.testing.assert_allclose(np.sort(few.wavelength_nm), [300.1, 300.4], atol=1e-9)


def test_masses_of_zero_stand_for_nothing() -> None:
    few = Measure(np.array([300.1, 300.7]), np.array([0.0, 1.0]), np.array([0, 0]), 2).condensed(EDGES)
    assert few.wavelength_nm.tolist() == [300.7, 300.7]


def test_a_line_stays_where_it_is() -> None:
    few = Measure(np.array([300.5]), np.array([2.0]), np.array([0]), 2).condensed(EDGES)
    assert few.wavelength_nm.tolist() == [300.5, 300.5]
    assert few.integral().tolist() == [2.0, 0.0]
