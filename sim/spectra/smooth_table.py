"""A smooth curve through the rows of a table."""

import numpy as np

from sim.spectra.arrays import FloatArray
from sim.spectra.piecewise import Curve

_FEWEST_PIECES = 4  # the chords of a quarter leave a sixteenth of what those of the whole do
_LONGEST_STEP_NM = 0.25


def smooth_samples(wavelength_nm: FloatArray, value: FloatArray) -> Curve:
    """Return samples of the monotone cubic through a table, close enough to be taken as linear between.

    Parameters
    ----------
    wavelength_nm : (m,) float, increasing [nm]
    value : (m,) float, >= 0

    Returns
    -------
    wavelength_nm : (k,) float, increasing [nm]
        The table's own among them.
    value : (k,) float, >= 0
        Nowhere above or below the two rows that it lies between.

    Notes
    -----
    Straight lines between the rows lie above a convex curve. Where an action spectrum is steep they add up: between the
    0.5 nm rows of the reference sun of ASTM G173-03, which has its UV edge there, they raise the UV index by 0.08 %.

    References
    ----------
    F. N. Fritsch, J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304, for the slopes.
    """
    steps = np.diff(wavelength_nm)
    if len(steps) < 2:
        return wavelength_nm, value
    slope = _slopes(steps, np.diff(value) / steps)
    pieces = np.maximum(_FEWEST_PIECES, np.ceil(steps / _LONGEST_STEP_NM)).astype(np.int64)
    row = np.repeat(np.arange(len(steps)), pieces)
    share = (np.arange(pieces.sum()) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[row]
    start, end = value[row], value[row + 1]
    rest = 1.0 - share
    curve = (
        start * (1.0 + 2.0 * share) * rest**2
        + end * share**2 * (3.0 - 2.0 * share)
        + steps[row] * share * rest * (slope[row] * rest - slope[row + 1] * share)
    )
    # Rounding may leave a hair outside the two rows.
    curve = np.clip(curve, np.minimum(start, end), np.maximum(start, end))
    fine = wavelength_nm[row] + steps[row] * share
    return np.append(fine, wavelength_nm[-1]), np.append(curve, value[-1])


def _slopes(steps: FloatArray, chord: FloatArray) -> FloatArray:
    """Return a slope at each row from the steps and the slopes of the chords between them."""
    slope = np.zeros(len(steps) + 1)
    before, after = chord[:-1], chord[1:]
    weight_before = 2.0 * steps[1:] + steps[:-1]
    weight_after = steps[1:] + 2.0 * steps[:-1]
    rises = before * after > 0.0
    safe_before, safe_after = np.where(rises, before, 1.0), np.where(rises, after, 1.0)
    harmonic = (weight_before + weight_after) / (weight_before / safe_before + weight_after / safe_after)
    slope[1:-1] = np.where(rises, harmonic, 0.0)
    slope[0] = _end_slope(steps[0], steps[1], chord[0], chord[1])
    slope[-1] = _end_slope(steps[-1], steps[-2], chord[-1], chord[-2])
    return slope


def _end_slope(step: float, next_step: float, chord: float, next_chord: float) -> float:
    """Return the slope of the parabola through the last three rows, kept to what a monotone curve allows."""
    slope = ((2.0 * step + next_step) * chord - step * next_chord) / (step + next_step)
    if slope * chord <= 0.0:
        return 0.0
    if chord * next_chord <= 0.0 and abs(slope) > 3.0 * abs(chord):
        return 3.0 * chord
    return float(slope)
