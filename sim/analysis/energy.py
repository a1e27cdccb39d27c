"""Where the power of the lamps goes, each part with its error."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.analysis.spectral_share import Share, ratio_share
from sim.tally.result import FloatArray, Result
from sim.tally.statistics import Estimate, estimate

ROUNDING = 1e-12
"""Of the whole: sums that are the same in every replicate scatter by less than this."""


@dataclass(frozen=True)
class PowerPart:
    """A part of the emitted power: over all lamps and bands [W], and as a share; older results have no errors (NaN)."""

    power: Estimate
    share: Share


@dataclass(frozen=True)
class PowerBudget:
    """Where the power goes: emitted = absorbed + escaped + unfinished.

    Attributes
    ----------
    emitted, absorbed, escaped, unfinished : PowerPart
    absorbed_by : dict of str to PowerPart
        By surface, in the order of the result.
    of_lamps : tuple of Estimate [W]
        What each lamp emits.
    """

    emitted: PowerPart
    absorbed: PowerPart
    escaped: PowerPart
    unfinished: PowerPart
    absorbed_by: dict[str, PowerPart]
    of_lamps: tuple[Estimate, ...]


def power_budget(result: Result, levels: npt.ArrayLike | None = None) -> PowerBudget:
    """Return where the power of a result's lamps goes.

    Parameters
    ----------
    result : Result
    levels : (lamp,) float, optional
        Factors on the lamps.
    """
    energy = result.energy
    factors = np.ones(len(result.lamps)) if levels is None else np.asarray(levels, dtype=np.float64)
    by_lamp = energy.emitted.sum(axis=-1) * factors
    sums = np.concatenate([energy.absorbed, energy.escaped[None], energy.unfinished[None]]).sum(axis=-1) @ factors
    emitted, surfaces = float(by_lamp.sum()), slice(len(energy.names))
    samples = None if energy.samples is None else energy.samples * factors

    def part(power: float, rows: slice) -> PowerPart:
        return _part(power, emitted, None if samples is None else samples.sum(axis=-1), rows)

    return PowerBudget(
        emitted=part(emitted, slice(None)),
        absorbed=part(float(sums[surfaces].sum()), surfaces),
        escaped=part(float(sums[-2]), slice(-2, -1)),
        unfinished=part(float(sums[-1]), slice(-1, None)),
        absorbed_by={name: part(float(sums[row]), slice(row, row + 1)) for row, name in enumerate(energy.names)},
        of_lamps=tuple(
            _known(float(power), float(power), None if samples is None else samples[:, :, lamp])
            for lamp, power in enumerate(by_lamp)
        ),
    )


def _part(power: float, emitted: float, samples: FloatArray | None, rows: slice) -> PowerPart:
    """Return the part of some rows of (replicate, row) samples, whose sum is known to be `power` [W]."""
    if samples is None:
        share = Share(power / emitted if emitted > 0.0 else float("nan"), float("nan"), 2)
        return PowerPart(_known(power, emitted, None), share)
    found = ratio_share(samples[:, rows].sum(axis=1), samples.sum(axis=1))
    share = Share(found.value, 0.0, found.replicates) if found.se <= ROUNDING else found
    return PowerPart(_known(power, emitted, samples[:, rows]), share)


def _known(power: float, emitted: float, samples: FloatArray | None) -> Estimate:
    """Return a power, known from all replicates together, with the error of (replicate, row) samples [W]."""
    if samples is None:
        return Estimate(np.array(power), np.array(float("nan")), 2)
    spread = estimate(samples.sum(axis=1))
    scattered = spread.se > ROUNDING * emitted
    return Estimate(np.array(power), spread.se if scattered else np.array(0.0), spread.replicates)
