"""Copying and adding short arrays by plain loops: numba compiles them many times faster than slices."""

from sim.transport.arrays import F64
from sim.transport.jit import helper


@helper
def copy(source: F64, target: F64) -> None:
    """Set a short array to another of the same length."""
    for i in range(len(target)):
        target[i] = source[i]


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
