"""The highest and the lowest place, without the flattery of picking the luckiest cell.

The greatest of many noisy cell means lies above the greatest true mean: the pick favours cells whose noise is
upward. So, unless one cell stands out beyond doubt, the replicates are parted in two halves; each half picks a place,
and the other half, which had no say in the pick, gives its value. That is the value of a place truly there, so on
average it is not above the true highest; the simultaneous `bound` is what the true highest is below.
"""

from dataclasses import dataclass

import numpy as np

from sim.analysis.maps import area_weights, counted_rows
from sim.tally.result import FloatArray, Group, Result
from sim.tally.statistics import Estimate, estimate, t_factor

CLEAR = 4.0
"""A cell ahead of all others by so many standard errors stands out; by luck that hardly ever happens."""
CORRELATION = 0.36
"""Largest correlation of the values that the two halves find, rounded up; see `highest`."""


@dataclass(frozen=True)
class Pick:
    """The highest (or lowest) of some cells.

    Attributes
    ----------
    index : int
        Cell with the most extreme mean over all replicates: the peak of the map.
    found : Estimate
        Value of the extreme, free of the bias of the pick.
    on_map : float
        Mean of the cell `index` as the map shows it, bias included.
    bound : float
        With 97.5 % confidence no cell's true mean is more extreme than this.
    settled : bool
        Whether the cell stands out from all others beyond the noise.
    """

    index: int
    found: Estimate
    on_map: float
    bound: float
    settled: bool


def highest(values: FloatArray, weights: FloatArray) -> Pick:
    """Return the highest cell.

    Parameters
    ----------
    values : (replicate, cell) float
    weights : (cell,) float, sum 1
        Shares of the area: the highest is never put below the area mean, which no true highest is. That lifts the
        value, in a field without any shape, by about 0.4 of its standard error on average.

    Raises
    ------
    ValueError
        With fewer than two replicates or no cell.

    Notes
    -----
    A cell that stands out from every other by `CLEAR` standard errors of the difference was not picked by luck, and
    its own mean is taken. Otherwise the even and the odd replicates pick for each other (a sample-splitting, or
    cross-validation, estimate). The halves' values are not independent, since they tend to pick alike: among n equal
    cells of normal noise their correlation is ``m^2 / (n - 1)``, m being the expected greatest of n standard normal
    numbers; it is largest, `CORRELATION`, for three cells, and the error is widened for that. The bound is
    Bonferroni's over the cells.
    """
    if values.ndim != 2 or values.shape[1] == 0:
        raise ValueError("the highest of no cells is not defined")
    replicates, cells = values.shape
    each = estimate(values)
    index = int(np.argmax(each.mean))
    ahead = estimate(values[:, [index]] - values)
    settled = bool(np.all(np.delete(ahead.mean - CLEAR * ahead.se, index) >= 0))
    found = Estimate(each.mean[index], each.se[index], replicates) if settled else _crossed(values, weights)
    reach = t_factor(replicates, 1.0 - 0.05 / cells) * each.se
    return Pick(index, found, float(each.mean[index]), float(np.max(each.mean + reach)), settled)


def _crossed(values: FloatArray, weights: FloatArray) -> Estimate:
    """Return the value of the highest cell, each half of the replicates read where the other half picks."""
    even = np.arange(len(values)) % 2 == 0
    by_even, by_odd = (_sturdiest(values[half]) for half in (even, ~even))
    found = estimate(np.where(even, values[:, by_odd], values[:, by_even]))
    se = found.se * np.sqrt(1.0 + CORRELATION)
    floor = estimate(values @ weights)
    if found.mean >= floor.mean:
        return Estimate(found.mean, se, found.replicates)
    # A cell that light hardly ever finds can look free of error; the mean that stands in for it is not.
    return Estimate(floor.mean, np.maximum(se, floor.se), found.replicates)


def _sturdiest(values: FloatArray) -> int:
    """Return the cell with the greatest mean less its standard error.

    A cell that a single rare path made bright has an error as large as its mean; picked by the mean alone, it would
    hide a place that is bright for sure, since the other half of the replicates reads it dark.
    """
    if len(values) < 2:
        return int(np.argmax(values[0]))
    each = estimate(values)
    return int(np.argmax(each.mean - each.se))


def lowest(values: FloatArray, weights: FloatArray) -> Pick:
    """Return the lowest cell; see `highest`."""
    pick = highest(-values, weights)
    found = Estimate(-pick.found.mean, pick.found.se, pick.found.replicates)
    return Pick(pick.index, found, -pick.on_map, -pick.bound, pick.settled)


@dataclass(frozen=True)
class Place:
    """An extreme value and where it is.

    Attributes
    ----------
    value, se, half_width : float
        Free of the bias of the pick; standard error and half width of the 95 % interval.
    on_map, bound, settled : float, float, bool
        See `Pick`.
    row : int
        Receiver with the peak of the map.
    group : str
        Name of the group that it belongs to.
    position : (float, float, float) [m]
    """

    value: float
    se: float
    half_width: float
    on_map: float
    bound: float
    settled: bool
    row: int
    group: str
    position: tuple[float, float, float]


def highest_place(result: Result, groups: tuple[Group, ...], values: FloatArray) -> Place:
    """Return the highest place over the receivers of some groups.

    Parameters
    ----------
    result : Result
    groups : tuple of Group, at least one
    values : (replicate, receiver) float
    """
    rows, names = _rows(result, groups)
    pick = highest(values[:, rows], area_weights(result.area[rows]))
    return _place(result, pick, int(rows[pick.index]), names[pick.index])


def lowest_place(result: Result, groups: tuple[Group, ...], values: FloatArray) -> Place:
    """Return the lowest place over the receivers of some groups; see `highest_place`."""
    rows, names = _rows(result, groups)
    pick = lowest(values[:, rows], area_weights(result.area[rows]))
    return _place(result, pick, int(rows[pick.index]), names[pick.index])


def _rows(result: Result, groups: tuple[Group, ...]) -> tuple[np.ndarray[tuple[int], np.dtype[np.int64]], list[str]]:
    per_group = [counted_rows(result, group) for group in groups]
    names = [group.name for group, rows in zip(groups, per_group, strict=True) for _ in rows]
    return np.concatenate([np.zeros(0, dtype=np.int64), *per_group]).astype(np.int64), names


def _place(result: Result, pick: Pick, row: int, group: str) -> Place:
    x, y, z = (float(part) for part in result.centre[row])
    found = pick.found
    return Place(
        value=float(found.mean),
        se=float(found.se),
        half_width=float(found.half_width),
        on_map=pick.on_map,
        bound=pick.bound,
        settled=pick.settled,
        row=row,
        group=group,
        position=(x, y, z),
    )
