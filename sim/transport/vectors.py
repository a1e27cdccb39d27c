"""Copying and adding short arrays by plain loops: numba compiles them many times faster than slices.

What photons add to a tally goes through `add`, `add_row` and `book`, for which a graphics card has its own.
"""

from sim.transport.arrays import F64
from sim.transport.jit import helper


@helper
def copy(source: F64, target: F64) -> None:
    """Set a short array to another of the same length."""
    for i in range(len(target)):
        target[i] = source[i]


@helper
def along_normal(d: F64, normal: F64) -> float:
    """Return the product of a direction in space with a normal."""
    return float(d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2])


@helper
def add(source: F64, target: F64) -> None:
    """Add a short array to another of the same length."""
    for i in range(len(target)):
        target[i] += source[i]


@helper
def add_share(total: F64, value: float, weights: F64) -> None:
    """Add a value times the bands' weights to a sum."""
    if value > 0.0:
        for band in range(len(weights)):
            total[band] += value * weights[band]


@helper
def add_row(source: F64, total: F64, row: int) -> None:
    """Add a short array to one row of a tally."""
    for band in range(len(source)):
        total[row, band] += source[band]


@helper
def book(value: float, total: F64, row: int, band: int) -> None:
    """Add a value to one place of a tally."""
    total[row, band] += value
