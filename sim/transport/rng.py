"""Random numbers by counting: any number can be asked for by its place, so threads change nothing."""

from typing import TypeAlias

import numpy as np

from sim.transport.jit import helper

Word: TypeAlias = np.uint64
"""A 32-bit word in 64 bits, so that products are exact and nothing overflows."""

_M0 = np.uint64(0xD2511F53)
_M1 = np.uint64(0xCD9E8D57)
_W0 = np.uint64(0x9E3779B9)
_W1 = np.uint64(0xBB67AE85)
_LOW = np.uint64(0xFFFFFFFF)
_HALF = np.uint64(32)
_TO_UNIT = 2.0**-32


@helper
def philox(c0: Word, c1: Word, c2: Word, c3: Word, k0: Word, k1: Word) -> tuple[Word, Word, Word, Word]:
    """Return four 32-bit words for a 128-bit counter and a 64-bit key (Philox4x32-10).

    Parameters
    ----------
    c0, c1, c2, c3, k0, k1 : uint64
        Words below 2^32.

    References
    ----------
    J. Salmon, M. Moraes, R. Dror, D. Shaw, "Parallel random numbers: as easy as 1, 2, 3", SC 2011.
    """
    for _ in range(10):
        p0 = _M0 * c0
        p1 = _M1 * c2
        c0 = (p1 >> _HALF) ^ c1 ^ k0
        c1 = p1 & _LOW
        c2 = (p0 >> _HALF) ^ c3 ^ k1
        c3 = p0 & _LOW
        k0 = (k0 + _W0) & _LOW
        k1 = (k1 + _W1) & _LOW
    return c0, c1, c2, c3


@helper
def to_unit(word: Word) -> float:
    """Return a 32-bit word as a number inside (0, 1)."""
    return float((np.float64(word) + 0.5) * _TO_UNIT)


@helper
def uniforms(index: int, bounce: int, purpose: int, seed: int, stream: int) -> tuple[float, float, float, float]:
    """Return four uniform numbers in (0, 1).

    Parameters
    ----------
    index, bounce, purpose : int
        Which photon or path, which of its steps, and what for.
    seed, stream : int
        The run's seed and the stream (replicate and lamp) that the photon belongs to.
    """
    i = np.uint64(index)
    a, b, c, d = philox(i & _LOW, i >> _HALF, np.uint64(bounce), np.uint64(purpose), np.uint64(seed), np.uint64(stream))
    return to_unit(a), to_unit(b), to_unit(c), to_unit(d)
