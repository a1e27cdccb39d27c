"""Low-discrepancy points, scrambled afresh in each replicate so that their scatter is a true error."""

import numpy as np
import numpy.typing as npt

from sim.transport.arrays import F64
from sim.transport.jit import helper, routine
from sim.transport.rng import Word, to_unit

Words = npt.NDArray[np.uint64]

DIMENSIONS = 8
BLOCK = 16
"""Points whose words differ in the last four bits of the index alone."""
_BITS = 32


def _direction_numbers() -> np.ndarray[tuple[int, int], np.dtype[np.uint64]]:
    """Return Sobol's direction numbers, (DIMENSIONS, 32).

    Primitive polynomials and initial numbers: S. Joe, F. Kuo, "Constructing Sobol sequences with better
    two-dimensional projections", SIAM J. Sci. Comput. 30:2635, 2008, first rows of their table.
    """
    rows = [(1, 0, [1]), (2, 1, [1, 3]), (3, 1, [1, 3, 1]), (3, 2, [1, 1, 1])]
    rows += [(4, 1, [1, 1, 3, 3]), (4, 4, [1, 3, 5, 13]), (5, 2, [1, 1, 5, 5, 17])]
    numbers = np.zeros((DIMENSIONS, _BITS), dtype=np.uint64)
    numbers[0] = [1 << (31 - bit) for bit in range(_BITS)]
    for dimension, (degree, coefficients, initial) in enumerate(rows, start=1):
        v = [m << (31 - bit) for bit, m in enumerate(initial)]
        for bit in range(degree, _BITS):
            new = v[bit - degree] ^ (v[bit - degree] >> degree)
            for k in range(1, degree):
                if (coefficients >> (degree - 1 - k)) & 1:
                    new ^= v[bit - k]
            v.append(new)
        numbers[dimension] = v
    return numbers


def _sums_of_four() -> np.ndarray[tuple[int, int, int], np.dtype[np.uint64]]:
    """Return for each dimension and four bits of an index the sum of their direction numbers, (DIMENSIONS, 8, 16)."""
    numbers = _direction_numbers().reshape(DIMENSIONS, _BITS // 4, 4)
    sums = np.zeros((DIMENSIONS, _BITS // 4, 16), dtype=np.uint64)
    for four in range(16):
        for bit in range(4):
            if four >> bit & 1:
                sums[:, :, four] ^= numbers[:, :, bit]
    return sums


def _reversed_bits(words: Words) -> Words:
    """Return 32-bit words whose bits stand the other way round."""
    turned = np.zeros_like(words)
    for bit in range(_BITS):
        turned |= (words >> np.uint64(bit) & np.uint64(1)) << np.uint64(31 - bit)
    return turned


_SUMS = _reversed_bits(_sums_of_four())
_FIFTEEN = np.uint64(15)
_LOW = np.uint64(0xFFFFFFFF)
_ZERO, _ONE, _FOUR = np.uint64(0), np.uint64(1), np.uint64(4)


@helper
def _reverse_bits(x: Word) -> Word:
    x = ((x >> np.uint64(1)) & np.uint64(0x55555555)) | ((x & np.uint64(0x55555555)) << np.uint64(1))
    x = ((x >> np.uint64(2)) & np.uint64(0x33333333)) | ((x & np.uint64(0x33333333)) << np.uint64(2))
    x = ((x >> np.uint64(4)) & np.uint64(0x0F0F0F0F)) | ((x & np.uint64(0x0F0F0F0F)) << np.uint64(4))
    x = ((x >> np.uint64(8)) & np.uint64(0x00FF00FF)) | ((x & np.uint64(0x00FF00FF)) << np.uint64(8))
    return ((x >> np.uint64(16)) | (x << np.uint64(16))) & _LOW


@helper
def _owen(x: Word, key: Word) -> Word:
    """Return a 32-bit word scrambled by Owen's nested permutations, as a hash; its bits come the other way round.

    References
    ----------
    B. Burley, "Practical hash-based Owen scrambling", JCGT 9(4), 2020; hash constants of N. Vegdahl's revision of
    S. Laine, T. Karras, EGSR 2011.
    """
    x = (x ^ ((x * np.uint64(0x3D20ADEA)) & _LOW)) & _LOW
    x = (x + key) & _LOW
    x = (x * ((key >> np.uint64(16)) | _ONE)) & _LOW
    x = (x ^ ((x * np.uint64(0x05526C56)) & _LOW)) & _LOW
    x = (x ^ ((x * np.uint64(0x53A22864)) & _LOW)) & _LOW
    return _reverse_bits(x)


@helper
def mix(a: Word, b: Word) -> Word:
    """Return a 32-bit hash of two words.

    Notes
    -----
    The finaliser is `triple32` of C. Wellons, "Prospecting for hash functions" (2018, public domain). A weaker one
    will not do: keys of neighbouring dimensions differ by one before it, and what it leaves in common would tie their
    scramblings together, so that means over replicates would be biased.
    """
    x = (np.uint64(a) * np.uint64(0x9E3779B9) + np.uint64(b) + np.uint64(0x7F4A7C15)) & _LOW
    x = ((x ^ (x >> np.uint64(17))) * np.uint64(0xED5AD4BB)) & _LOW
    x = ((x ^ (x >> np.uint64(11))) * np.uint64(0xAC4C1B51)) & _LOW
    x = ((x ^ (x >> np.uint64(15))) * np.uint64(0x31848BAB)) & _LOW
    return x ^ (x >> np.uint64(14))


@helper
def sobol_word(index: int, dimension: int) -> Word:
    """Return point `index` of Sobol's sequence in one dimension as a 32-bit word, its bits the other way round."""
    i = np.uint64(index)
    word = np.uint64(0)
    four = 0
    # Most indices are small: what lies beyond their last digit adds nothing.
    while i != _ZERO:
        word ^= _SUMS[dimension, four, i & _FIFTEEN]
        i >>= _FOUR
        four += 1
    return word


@helper
def scrambled(index: int, dimension: int, key: Word) -> float:
    """Return coordinate `dimension` of an Owen-scrambled Sobol point, in (0, 1).

    Parameters
    ----------
    index : int
        Below 2^32.
    key : uint64
        32-bit hash of seed and stream; other keys give independent scramblings.
    """
    return to_unit(_owen(sobol_word(index, dimension), mix(key, np.uint64(dimension))))


@routine
def scrambled_block(block: int, key: Word, rows: F64) -> None:
    """Set rows (dimensions, 16) to what `scrambled` tells of points ``16 block … 16 block + 15``, several at a time."""
    for dimension in range(len(rows)):
        row, low = rows[dimension], _SUMS[dimension, 0]
        high, own = sobol_word(BLOCK * block, dimension), mix(key, np.uint64(dimension))
        for point in range(BLOCK):
            row[point] = to_unit(_owen(low[point] ^ high, own))
