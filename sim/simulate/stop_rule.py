"""When a run has traced enough for the error that was asked for."""

from collections.abc import Iterable

import numpy as np

from sim.analysis.maps import Maps
from sim.analysis.rows import is_profile
from sim.tally.result import Group, Result
from sim.tally.statistics import estimate

FLOOR_UVI = 0.1
"""Below this UV index the error asked for is taken of this index, since nobody needs 1 % of nothing."""
FLOOR_SHARE = 0.01
"""Where nothing carries UV index, below this share of the brightest group's irradiance."""


def judged_groups(groups: Iterable[Group]) -> tuple[Group, ...]:
    """Return those of which the error is asked, if they have receivers: zones, or else sensors, or else surfaces."""
    kinds: dict[str, list[Group]] = {"zone": [], "sensor": [], "surface": []}
    for group in groups:
        if group.kind in kinds and not is_profile(group):
            kinds[group.kind].append(group)
    judged = next((found for found in kinds.values() if found), [])
    return tuple(group for group in judged if group.count)


def largest_error(result: Result) -> float:
    """Return the largest relative standard error of the mean UV index of the judged groups.

    The result needs no others. Where a spectrum carries no UV index, unweighted irradiance is judged instead. Zero if
    nothing is judged.
    """
    groups = judged_groups(result.groups)
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
