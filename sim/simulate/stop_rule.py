"""When a run has traced enough for the error that was asked for."""

import numpy as np

from sim.analysis.maps import Maps
from sim.tally.result import Group, Result
from sim.tally.statistics import estimate

FLOOR_UVI = 0.1
"""Below this UV index the error asked for is taken of this index, since nobody needs 1 % of nothing."""
FLOOR_SHARE = 0.01
"""Where nothing carries UV index, below this share of the brightest group's irradiance."""


def judged_groups(result: Result) -> tuple[Group, ...]:
    """Return what the error is asked of: zones, or else sensors, or else surfaces."""
    zones = result.of_kind("zone")
    if zones:
        return zones
    sensors = tuple(g for g in result.of_kind("sensor") if (g.detail or {}).get("kind") != "profile")
    return sensors or result.of_kind("surface")


def largest_error(result: Result) -> float:
    """Return the largest relative standard error of the mean UV index of the judged groups.

    Where a spectrum carries no UV index, unweighted irradiance is judged instead. Zero if nothing is judged.
    """
    groups = [group for group in judged_groups(result) if group.count]
    if not groups:
        return 0.0
    maps = Maps(result)
    by_uvi = bool(maps.uvi.any())
    values = maps.uvi if by_uvi else maps.irradiance
    means = [estimate(maps.mean_over(group, values)) for group in groups]
    brightest = max(float(mean.mean) for mean in means)
    floor = FLOOR_UVI if by_uvi else FLOOR_SHARE * brightest
    # A dim scene is judged by its own brightness, not against an index that it never reaches.
    floor = min(floor, brightest)
    errors = [float(mean.se) / max(float(mean.mean), floor, np.finfo(float).tiny) for mean in means]
    return max(errors)
