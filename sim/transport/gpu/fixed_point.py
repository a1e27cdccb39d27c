"""Sums in whole numbers: addition of integers has no order, so a card's threads may add as they come.

A weight is rounded to a multiple of ``1 / scale``, which costs at most half of that in each deposit, to either side.
"""

import math
from typing import NamedTuple

import numpy as np

from sim.transport import vectors
from sim.transport.arrays import F64, I64, Laws
from sim.transport.gpu.target import cuda, stands_in_for
from sim.transport.photons import BOUNCE_LIMIT

BITS = 62
SAFETY = 16.0
"""How often over its mean the weight that meets one place may come."""


class Tally(NamedTuple):
    """Sums of one replicate in multiples of ``1 / scale``."""

    sums: I64
    scale: float


@stands_in_for(vectors.book)
def book_on_card(value: float, total: Tally, row: int, band: int) -> None:
    """Add a weight to one place of a tally."""
    if value != 0.0:
        cuda.atomic.add(total.sums, (row, band), int(math.floor(value * total.scale + 0.5)))


@stands_in_for(vectors.add_row)
def add_row_on_card(source: F64, total: Tally, row: int) -> None:
    """Add weights to one row of a tally."""
    for band in range(len(source)):
        book_on_card(source[band], total, row, band)


@stands_in_for(vectors.add)
def add_on_card(source: F64, total: Tally) -> None:
    """Add weights to a tally of one row."""
    for band in range(len(source)):
        if source[band] != 0.0:
            cuda.atomic.add(total.sums, band, int(math.floor(source[band] * total.scale + 0.5)))


def most_kept(laws: Laws) -> float:
    """Return the largest share of light that any law of a scene hands on, in any band and from any direction."""
    kept = laws.diffuse.sum(axis=-1) + laws.lobe
    angular = laws.specular_row >= 0
    kept[angular] += laws.specular[laws.specular_row[angular]].sum(axis=-1).max(axis=-1)
    screen = laws.fill[:, 0] >= 0.0
    passed = ((1.0 - laws.fill[:, 0]) * (1.0 - laws.fill[:, 1]))[:, None, None]
    kept[screen] = (passed + (1.0 - passed) * laws.wires.max(axis=-1))[screen]
    return min(1.0, float(kept.max()))


def scale_of(laws: Laws, photons: int) -> float:
    """Return the scale at which no sum of so many photons overflows, a power of two.

    A photon meets the surfaces ``1 / (1 - kept)`` times on average, or as often as `BOUNCE_LIMIT` lets it.
    """
    lost = max(1.0 - most_kept(laws), SAFETY / BOUNCE_LIMIT)
    return float(2.0 ** math.floor(BITS - math.log2(photons * SAFETY / lost)))


def as_floats(sums: I64, scale: float) -> F64:
    """Return sums as weights."""
    weights: F64 = sums.astype(np.float64) / scale
    return weights
