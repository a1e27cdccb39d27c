"""What white facets return by one reflection, and the table of the rest."""

import numpy as np
import pytest

from sim.materials.facets import facet_table, returned_once

COSINES = np.array([1e-3, 0.01, 0.05, 0.1, 0.3, 0.5, 0.8, 0.99, 1.0])


def test_closed_form_of_the_roughest() -> None:
    """At alpha 1 D is 1 / pi and Lambda (1 / m - 1) / 2; E is the integral of o / (m + o) over 0 to 1."""
    expected = 1.0 - COSINES * np.log1p(1.0 / COSINES)
    assert expected == pytest.approx(returned_once(1.0, COSINES), abs=1e-6)
    assert expected[COSINES > 0.04] == pytest.approx(returned_once(1.0, COSINES[COSINES > 0.04]), abs=1e-10)
    # 2 m^2 ln(1 + 1 / m), integrated by parts.
    assert 4.0 / 3.0 * np.log(2.0) - 1.0 / 3.0 == pytest.approx(facet_table(1.0).share, abs=2e-5)


@pytest.mark.parametrize("alpha", [1e-3, 0.02, 0.1, 0.4, 1.0])
def test_the_share_is_the_mean_over_matt_light(alpha: float) -> None:
    x, weights = np.polynomial.legendre.leggauss(100)
    m = (0.5 * (x + 1.0)) ** 2
    missed = 1.0 - returned_once(alpha, m)
    assert np.all((missed > -1e-5) & (missed < 1.0))
    mean = float((2.0 * m * missed * np.sqrt(m)) @ weights)
    assert mean == pytest.approx(facet_table(alpha).share, rel=2e-4)


@pytest.mark.parametrize("alpha", [0.01, 0.02, 0.1, 0.4, 1.0])
def test_parts_of_the_table(alpha: float) -> None:
    """Up to each cosine leaves the part that the table says, in the density that belongs to the law."""
    table = facet_table(alpha)
    assert (table.cosines[0], table.cosines[-1]) == (0.0, 1.0)
    assert np.all(np.diff(table.cosines) > 0.0)
    x, weights = np.polynomial.legendre.leggauss(100)
    for node in (20, 64, 110):
        root = 0.5 * np.sqrt(table.cosines[node]) * (x + 1.0)
        m = root**2
        part = (2.0 * m * (1.0 - returned_once(alpha, m)) * root) @ weights * np.sqrt(table.cosines[node])
        assert (node / 128.0) ** 2 == pytest.approx(part / table.share, abs=2e-4)
    m = table.cosines[10:]
    assert 2.0 * m * (1.0 - returned_once(alpha, m)) / table.share == pytest.approx(table.densities[10:], rel=4e-3)


def test_smoother_facets_leave_less_to_each_other() -> None:
    shares = [facet_table(alpha).share for alpha in (1e-3, 0.01, 0.1, 0.3, 0.6, 1.0)]
    assert shares == sorted(shares)
    assert shares[0] < 1e-5
