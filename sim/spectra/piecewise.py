"""Piecewise-linear functions with steps: zero outside, two equal abscissae make a step."""

from collections.abc import Sequence
from typing import Literal

import numpy as np

from sim.spectra.arrays import FloatArray

Curve = tuple[FloatArray, FloatArray]


def limit(at: FloatArray, abscissae: FloatArray, ordinates: FloatArray, side: Literal["left", "right"]) -> FloatArray:
    """Return the one-sided limit of a piecewise-linear function.

    Parameters
    ----------
    at : (n,) float
        Where to evaluate.
    abscissae : (m,) float, non-decreasing
        Sample points; m may be 0.
    ordinates : (m,) float
        Values there.
    side : {"left", "right"}
        From which side to approach; they differ only on a step.

    Returns
    -------
    (n,) float, zero outside the samples
    """
    count = abscissae.size
    if count == 0:
        return np.zeros(at.shape)
    above = np.searchsorted(abscissae, at, side=side)
    inside = (above > 0) & (above < count)
    upper = np.clip(above, 1, count - 1)
    start, end = abscissae[upper - 1], abscissae[upper]
    span = np.where(inside, end - start, 1.0)
    share = np.where(inside, (at - start) / span, 0.0)
    values = (1.0 - share) * ordinates[upper - 1] + share * ordinates[upper]
    return np.where(inside, values, 0.0)


def add_curves(curves: Sequence[Curve]) -> Curve:
    """Return the sum of piecewise-linear functions, their steps kept.

    Parameters
    ----------
    curves : sequence of ((m,) float, (m,) float)
        Abscissae (non-decreasing) and ordinates of each.

    Returns
    -------
    abscissae : (k,) float, non-decreasing
    ordinates : (k,) float
    """
    curves = [curve for curve in curves if curve[0].size]
    if not curves:
        return np.zeros(0), np.zeros(0)
    points = np.unique(np.concatenate([abscissae for abscissae, _ in curves]))
    left = np.sum([limit(points, *curve, side="left") for curve in curves], axis=0)
    right = np.sum([limit(points, *curve, side="right") for curve in curves], axis=0)
    keep = np.stack([np.ones(points.size, dtype=bool), left != right], axis=1)
    # Outside the outermost points the sum is zero by definition, so one sample does there.
    left[0] = right[0]
    keep[0, 1] = keep[-1, 1] = False
    both = np.stack([left, right], axis=1)
    return np.repeat(points, 2)[keep.ravel()], both.ravel()[keep.ravel()]
