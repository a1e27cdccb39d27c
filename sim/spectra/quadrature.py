"""Gauss-Legendre rules over a list of breakpoints."""

import math

import numpy as np

from sim.spectra.arrays import FloatArray

# Three points are exact to degree 5: a linear density times a quartic.
_ABSCISSAE, _WEIGHTS = (np.asarray(half) / 2 for half in np.polynomial.legendre.leggauss(3))


def gauss_nodes(points_nm: FloatArray, longest_nm: float = math.inf) -> tuple[FloatArray, FloatArray]:
    """Return the nodes and weights of a rule that never straddles a breakpoint.

    Parameters
    ----------
    points_nm : (p,) float, ascending [nm]
        Ends of the intervals; between two of them the integrand must be smooth.
    longest_nm : float [nm]
        Intervals longer than this are cut into equal pieces.

    Returns
    -------
    nodes_nm : (q,) float, ascending [nm]
        Points inside the intervals, never on a breakpoint.
    weights_nm : (q,) float [nm]
        Their sum is the length covered.
    """
    lengths = np.diff(points_nm)
    pieces = np.maximum(1, np.ceil(lengths / longest_nm)).astype(np.int64)
    widths = np.repeat(lengths / pieces, pieces)
    place_in_interval = np.arange(pieces.sum()) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    middles = np.repeat(points_nm[:-1], pieces) + (place_in_interval + 0.5) * widths
    nodes = middles[:, None] + widths[:, None] * _ABSCISSAE
    weights = widths[:, None] * _WEIGHTS
    return nodes.ravel(), weights.ravel()


def points_between(low_nm: float, high_nm: float, *breakpoints_nm: FloatArray) -> FloatArray:
    """Return `low_nm`, `high_nm` and every breakpoint between them, ascending and without repeats.

    Parameters
    ----------
    low_nm, high_nm : float, low_nm < high_nm [nm]
        Ends of the range.
    *breakpoints_nm : (any,) float [nm]
        Points in any order; those outside the range are dropped.

    Returns
    -------
    (p,) float, ascending [nm]
    """
    every = np.concatenate([np.array([low_nm, high_nm]), *breakpoints_nm])
    return np.unique(every[(every >= low_nm) & (every <= high_nm)])
