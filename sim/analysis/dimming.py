"""Lamps dimmed, aged or switched off after a run: arithmetic on what was stored, exact, without tracing.

Light adds up lamp by lamp, and a Result keeps the lamps apart. A factor on a lamp stands for a dimmer or for age as far
as these leave its spectrum and its shape alone.
"""

from collections.abc import Mapping

import numpy as np

from sim.analysis.maps import band_factors
from sim.spectra.weighting import WEIGHTINGS, Weighting
from sim.tally.result import FloatArray, Result
from sim.tally.statistics import PartsEstimate, estimate_parts

_ROWS = 4096  # receivers at a time: double copies of all of a large result would be gigabytes


class LevelError(ValueError):
    """A level that no lamp can have; one line that says which and what would be right."""


def lamp_parts(result: Result, weighting: Weighting | str = "uvi") -> PartsEstimate:
    """Return what each lamp contributes to each receiver, for `PartsEstimate.mixed` at any levels of the lamps.

    Parameters
    ----------
    result : Result
    weighting : Weighting or str
        A weighting, or the name of one in `sim.spectra.WEIGHTINGS`.

    Returns
    -------
    PartsEstimate
        Parts are lamps, numbers are receivers [unit of the weighting].

    Raises
    ------
    KeyError
        If there is no weighting of that name.

    Notes
    -----
    With lamp values ``L_k`` in a replicate, a mix ``sum f_k L_k`` has the variance ``sum f_i f_j cov(L_i, L_j)``: a
    quadratic form, so that neither its mean nor its error needs the replicates again.
    """
    chosen = WEIGHTINGS[weighting] if isinstance(weighting, str) else weighting
    bands = [band_factors(lamp, result.edges_nm, chosen) for lamp in result.lamps]
    factors = np.reshape(bands, result.irradiance.shape[2:])
    receivers = result.irradiance.shape[1]
    blocks = [
        estimate_parts(np.einsum("krlb,lb->klr", result.irradiance[:, first : first + _ROWS], factors, optimize=True))
        for first in range(0, max(1, receivers), _ROWS)
    ]
    mean = np.concatenate([block.mean for block in blocks], axis=1)
    covariance = np.concatenate([block.covariance for block in blocks], axis=1)
    return PartsEstimate(mean, covariance, blocks[0].replicates)


def lamp_levels(result: Result, levels: Mapping[str, float], alone: str | None = None) -> FloatArray:
    """Return a factor for every lamp of a result, (lamp,).

    Parameters
    ----------
    result : Result
    levels : mapping of str to float, >= 0
        By name of the lamp; those left out stay at one.
    alone : str, optional
        The one lamp that stays on.

    Raises
    ------
    LevelError
        If a name is none of the result's lamps, or a factor is negative or not finite.
    """
    names = [lamp.name for lamp in result.lamps]
    for name in (*levels, *(() if alone is None else (alone,))):
        if name not in names:
            raise LevelError(f"no lamp called '{name}' in this result; there are: {', '.join(names)}")
    for name, level in levels.items():
        if not (np.isfinite(level) and level >= 0.0):
            raise LevelError(f"level {level:g} of lamp '{name}' is no factor of 0 or more; write one such as 70%")
    return np.array([levels.get(name, 1.0) * (alone is None or name == alone) for name in names])
