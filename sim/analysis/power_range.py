"""What a map would be if lamps were as weak, or as strong, as what is known of their power allows."""

import numpy as np

from sim.analysis.maps import Maps
from sim.tally.result import FloatArray, Group
from sim.tally.statistics import Estimate, estimate

PowerBounds = tuple[Maps, Maps]


def power_bounds(maps: Maps) -> PowerBounds | None:
    """Return the maps with every lamp at the low and at the high end of its range, or None if no lamp has one.

    Parameters
    ----------
    maps : Maps

    Notes
    -----
    All lamps stand at the same end, the worst case: nobody knows whether their ranges go together. This is no sampled
    error, and is never added to one.
    """
    lamps = maps.result.lamps
    if not any(lamp.has_range for lamp in lamps):
        return None
    levels: FloatArray = np.ones(len(lamps)) if maps.levels is None else np.asarray(maps.levels, dtype=np.float64)
    low, high = (levels * np.array([lamp.power_range[end] for lamp in lamps]) for end in (0, 1))
    return Maps(maps.result, low), Maps(maps.result, high)


def mean_between(bounds: PowerBounds | None, group: Group) -> tuple[Estimate, Estimate] | None:
    """Return the mean UV index over a group at both ends of the lamps' ranges, or None if they have none."""
    if bounds is None:
        return None
    low, high = (estimate(end.mean_over(group, end.uvi)) for end in bounds)
    return low, high
