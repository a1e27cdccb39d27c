"""Which points are at one place, against `numpy.unique` of rows."""

import numpy as np
import pytest

from sim.geometry import places as module
from sim.geometry.places import places


@pytest.mark.parametrize("count", [0, 1, 2, 3, 50, 5000])
def test_places_are_the_distinct_rows_in_their_order(count: int) -> None:
    rng = np.random.Generator(np.random.PCG64(count))
    points = rng.integers(-2, 3, (count, 3)) * 0.1
    points[rng.random((count, 3)) < 0.1] = -0.0
    rows, place = places(points)
    expected, first, inverse = np.unique(points, axis=0, return_index=True, return_inverse=True)
    assert np.array_equal(points[rows], expected)
    assert np.array_equal(rows, first)
    assert np.array_equal(place, inverse.ravel())


def test_points_of_one_word_stay_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_MIX", np.zeros(3, dtype=np.uint64))
    points = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 2.0]])
    rows, place = places(points)
    assert rows.tolist() == [4, 1, 0]
    assert place.tolist() == [2, 1, 2, 1, 0]
