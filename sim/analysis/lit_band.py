"""How wide a lamp's light is: full width at half maximum of a row of equal cells."""

import numpy as np
import numpy.typing as npt

from sim.tally.statistics import resampled

FloatArray = npt.NDArray[np.float64]

SMOOTHING = np.array([-2.0, 3.0, 6.0, 7.0, 6.0, 3.0, -2.0]) / 21.0
"""Fits a parabola to seven cells and takes its middle, so that a round top keeps its height and loses its noise.

A. Savitzky, M. J. E. Golay, Smoothing and differentiation of data by simplified least squares procedures, Anal. Chem.
36 (1964) 1627.
"""


def full_width(profile: FloatArray, step: float) -> float:
    """Return the distance between the outermost places at half the maximum of a smoothed row of cells [m].

    Parameters
    ----------
    profile : (n,) float
        Means of equal cells.
    step : float [m]
        Width of a cell.

    Returns
    -------
    float
        NaN where the row is dark or does not fall to half its maximum at both ends.
    """
    smooth = np.convolve(np.pad(profile, 3, mode="edge"), SMOOTHING, mode="valid")
    half = 0.5 * float(smooth.max())
    above = np.flatnonzero(smooth > half)
    if half <= 0.0 or above[0] == 0 or above[-1] == len(smooth) - 1:
        return float("nan")
    left = above[0] - (smooth[above[0]] - half) / (smooth[above[0]] - smooth[above[0] - 1])
    right = above[-1] + (smooth[above[-1]] - half) / (smooth[above[-1]] - smooth[above[-1] + 1])
    return float(step * (right - left))


def width_with_error(profiles: FloatArray, step: float) -> tuple[float, float]:
    """Return the full width at half maximum of the mean of replicates, and its standard error [m].

    Parameters
    ----------
    profiles : (replicate, n) float
    step : float [m]
    """
    return resampled(profiles, lambda mean: full_width(mean, step))
