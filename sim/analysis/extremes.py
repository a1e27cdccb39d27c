"""The highest and the lowest place, without the flattery of picking the luckiest cell.

The greatest of many noisy cell means lies above the greatest true mean: the pick favours cells whose noise is
upward. So the replicates are parted in two halves; each half picks a place, and the other half, which had no say
in the pick, gives its value. The value is that of a place truly there, so on average it is never above the true
highest; the simultaneous `bound` is what the true highest is below.
"""

from dataclasses import dataclass

import numpy as np

from sim.analysis.maps import area_weights, counted
from sim.tally.result import FloatArray, Group, Result
from sim.tally.statistics import Estimate, estimate, t_factor


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
        Whether both halves of the replicates picked the same cell.
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
        Shares of the area: the highest is never put below the area mean, which no true highest is.

    Raises
    ------
    ValueError
        With fewer than two replicates or no cell.

    Notes
    -----
    Halves are the even and the odd replicates, a sample-splitting (cross-validation) estimate. Its error is the
    scatter of the replicates at the places that the other half picked; where the halves disagree it is too wide
    rather than too narrow. The bound is Bonferroni's over the cells.
    """
    if values.ndim != 2 or values.shape[1] == 0:
        raise ValueError("the highest of no cells is not defined")
    replicates, cells = values.shape
    each = estimate(values)
    even = np.arange(replicates) % 2 == 0
    by_even, by_odd = (int(np.argmax(values[half].mean(axis=0))) for half in (even, ~even))
    found = estimate(np.where(even, values[:, by_odd], values[:, by_even]))
    mean = (values @ weights).mean()
    if found.mean < mean:
        # The wider error stays: the better of two values would otherwise be over a limit by chance twice as often.
        found = Estimate(mean, found.se, replicates)
    index = int(np.argmax(each.mean))
    reach = t_factor(replicates, 1.0 - 0.05 / cells) * each.se
    return Pick(index, found, float(each.mean[index]), float(np.max(each.mean + reach)), by_even == by_odd)


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
    per_group = [group.first + np.flatnonzero(counted(result.area[group.rows])) for group in groups]
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
