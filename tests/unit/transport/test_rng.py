"""Philox4x32-10 against the known answers of its authors."""

import numpy as np
import pytest

from tests.support.kernel_loops import philox_words, uniform_numbers
from tests.support.significance import chi_square, sidak
from tests.support.sizes import sized

pytestmark = pytest.mark.tiny

# Known-answer vectors of the Random123 distribution (J. Salmon et al., SC 2011), from memory: zeros, ones, pi.
KNOWN = [
    ("00000000 00000000 00000000 00000000", "00000000 00000000", "6627e8d5 e169c58d bc57ac4c 9b00dbd8"),
    ("ffffffff ffffffff ffffffff ffffffff", "ffffffff ffffffff", "408f276d 41c83b0e a20bc7c6 6d5451fd"),
    ("243f6a88 85a308d3 13198a2e 03707344", "a4093822 299f31d0", "d16cfe09 94fdcceb 5001e420 24126ea1"),
]


def words(text: str) -> list[int]:
    return [int(word, 16) for word in text.split()]


def test_known_answers() -> None:
    counters = np.array([words(counter) for counter, _, _ in KNOWN], dtype=np.uint64)
    keys = np.array([words(key) for _, key, _ in KNOWN], dtype=np.uint64)
    out = np.zeros((len(KNOWN), 4), dtype=np.uint64)
    philox_words(counters, keys, out)
    assert [words(answer) for _, _, answer in KNOWN] == out.tolist()


def test_every_word_of_a_place_matters() -> None:
    """Index, bounce, purpose, seed and stream: no number comes twice if any of them is another."""
    count = 64
    places = [(5, 2, 1, 9, 3), (5, 3, 1, 9, 3), (5, 2, 2, 9, 3), (5, 2, 1, 10, 3), (5, 2, 1, 9, 4)]
    blocks = []
    for start, bounce, purpose, seed, stream in places:
        out = np.zeros((count, 4))
        uniform_numbers(np.arange(start, start + count), bounce, purpose, seed, stream, out)
        blocks.append(out)
    everything = np.concatenate(blocks).ravel()
    assert len(np.unique(everything)) == everything.size


def test_an_index_beyond_32_bits_is_another_index() -> None:
    out = np.zeros((2, 4))
    uniform_numbers(np.array([7, 7 + (1 << 32)]), 0, 1, 1, 1, out)
    assert not np.any(out[0] == out[1])


def test_numbers_lie_inside_the_unit_interval_and_are_uniform() -> None:
    count = sized(200_000, 2_000)
    out = np.zeros((count, 4))
    uniform_numbers(np.arange(count), 1, 1, 2, 3, out)
    assert out.min() > 0.0
    assert out.max() < 1.0
    # Each of four columns and three neighbouring pairs: a false alarm in one of a thousand.
    level = sidak(0.001, 7)
    for column in range(4):
        seen = np.histogram(out[:, column], bins=64, range=(0.0, 1.0))[0]
        assert chi_square(seen, np.full(64, count / 64)) > level
    for column in range(3):
        seen = np.histogram2d(out[:, column], out[:, column + 1], bins=8, range=[(0.0, 1.0), (0.0, 1.0)])[0]
        assert chi_square(seen, np.full(64, count / 64)) > level
