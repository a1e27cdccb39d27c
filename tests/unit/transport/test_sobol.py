"""Sobol points against another implementation, and what scrambling must keep and must change."""

import numpy as np
import pytest
from scipy.stats import qmc

from sim.transport.emission import scramble_key
from sim.transport.sobol import DIMENSIONS
from tests.support.kernel_loops import scrambled_blocks, scrambled_points, sobol_words
from tests.support.significance import chi_square, sidak
from tests.support.sizes import sized

pytestmark = pytest.mark.tiny


def keys(count: int) -> np.ndarray:
    return np.array([scramble_key(11, replicate, 2) for replicate in range(count)], dtype=np.uint64)


def points(replicates: int, count: int) -> np.ndarray:
    out = np.zeros((replicates, count, DIMENSIONS))
    scrambled_points(keys(replicates), out)
    return out


def test_words_are_those_of_scipy() -> None:
    """Both use the direction numbers of Joe and Kuo (2008); scipy's points come in Gray-code order."""
    count = sized(4096, 256)
    ours = np.zeros((count, DIMENSIONS), dtype=np.uint64)
    sobol_words(ours)
    theirs = qmc.Sobol(DIMENSIONS, scramble=False, bits=32).random(count)
    index = np.arange(count)
    # Ours come with their first bit last.
    turned = sum((ours >> np.uint64(bit) & np.uint64(1)) << np.uint64(31 - bit) for bit in range(32))
    in_their_order = turned[index ^ (index >> 1)] * 2.0**-32
    assert np.array_equal(theirs, in_their_order)


def cube(drawn: np.ndarray, bins: int) -> np.ndarray:
    """Counts of points (n, k) in `bins` intervals of each dimension."""
    return np.histogramdd(drawn, bins=bins, range=[(0.0, 1.0)] * drawn.shape[1])[0]


@pytest.mark.parametrize("level", range(9))
def test_each_replicate_fills_every_interval_of_a_dimension_once(level: int) -> None:
    """The first 2^m points of each dimension are a (0, m, 1)-net, scrambled or not (A. Owen, 1995)."""
    count = 1 << level
    drawn = points(sized(32, 3), count)
    for replicate in drawn:
        for dimension in range(DIMENSIONS):
            assert sorted((replicate[:, dimension] * count).astype(int)) == list(range(count))


@pytest.mark.parametrize("split", range(7))
def test_the_first_two_dimensions_fill_every_elementary_rectangle_once(split: int) -> None:
    """They are a (0, m, 2)-net: each rectangle of 2^-k by 2^-(m-k) holds one of 2^m points."""
    wide, high = 1 << split, 1 << (6 - split)
    for replicate in points(sized(32, 3), 64):
        place = (replicate[:, 0] * wide).astype(int) * high + (replicate[:, 1] * high).astype(int)
        assert sorted(place) == list(range(64))


@pytest.mark.parametrize("index", [0, 1, 5, 63])
def test_over_replicates_each_point_is_uniform_in_space(index: int) -> None:
    """Owen's permutations put each point anywhere, in every dimension for itself; else means are biased."""
    count, used = sized(100_000, 1_000), 5
    out = np.zeros((count, index + 1, used))
    scrambled_points(keys(count), out)
    drawn = out[:, index]
    pairs = [(i, j) for j in range(used) for i in range(j)]
    # Five dimensions, ten planes, three solids, for four indices: a false alarm in one of a thousand.
    level = sidak(0.001, 4 * (used + len(pairs) + 3))
    for dimension in range(used):
        assert chi_square(cube(drawn[:, [dimension]], 32), np.full(32, count / 32)) > level
    for pair in pairs:
        bins = sized(16, 8)
        assert chi_square(cube(drawn[:, pair], bins), np.full(bins**2, count / bins**2)) > level
    for first in range(used - 2):
        assert chi_square(cube(drawn[:, first : first + 3], 4), np.full(64, count / 64)) > level


def test_over_replicates_the_low_digits_of_a_point_do_not_follow_from_the_high_ones() -> None:
    count = sized(40_000, 1_000)
    out = np.zeros((count, 4, 2))
    scrambled_points(keys(count), out)
    high = (out[:, 3, 0] * 8).astype(int)
    low = (out[:, 3, 0] * 64).astype(int) % 8
    seen = np.histogram2d(high, low, bins=8, range=[(0.0, 8.0), (0.0, 8.0)])[0]
    # One of a thousand.
    assert chi_square(seen, np.full(64, count / 64)) > 0.001


def test_points_made_together_are_those_made_one_by_one() -> None:
    count = sized(4096, 48)
    one_by_one, together = np.zeros((2, count, DIMENSIONS)), np.zeros((2, count, DIMENSIONS))
    scrambled_points(keys(2), one_by_one)
    scrambled_blocks(keys(2), together)
    assert np.array_equal(one_by_one, together)


def test_points_lie_inside_the_unit_interval() -> None:
    drawn = points(sized(64, 4), sized(1024, 64))
    assert drawn.min() > 0.0
    assert drawn.max() < 1.0


def test_scrambled_integration_beats_plain_sampling() -> None:
    """The error of a smooth integral over 1024 points is far below that of independent points."""
    count = sized(1024, 128)
    drawn = points(sized(64, 8), count)[:, :, :2]
    values = np.exp(drawn.sum(axis=2)).mean(axis=1)
    truth = (np.e - 1.0) ** 2
    plain = np.sqrt(((np.e**2 - 1.0) / 2.0) ** 2 - truth**2) / np.sqrt(count)
    spread = values.std(ddof=1)
    assert spread < 0.1 * plain
    # Four standard errors of the mean over replicates.
    assert abs(values.mean() - truth) < 4.0 * spread / np.sqrt(len(values)) + 1e-9
