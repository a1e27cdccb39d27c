"""What a change of a scene brought: zones and sensors before it and after it, wherever they stand now."""

from dataclasses import dataclass

from sim.analysis.comparison import difference
from sim.analysis.coverage import SceneAnswer
from sim.tally.result import FloatArray
from sim.tally.statistics import Estimate, estimate

Means = dict[tuple[str, str], FloatArray]
"""Mean UV index over the area of what is told, by kind and name: (replicate,) float."""


@dataclass(frozen=True)
class Change:
    """Mean UV index over the area of a zone, sensor or surface, before and now.

    Attributes
    ----------
    name : str
    before, now, difference : Estimate
        The difference is now less before.
    """

    name: str
    before: Estimate
    now: Estimate
    difference: Estimate


def area_means(told: SceneAnswer) -> Means:
    """Return the means of zones and sensors; of surfaces, where there are neither."""
    groups = [*(zone.group for zone in told.zones), *(row.group for row in told.sensors)]
    groups = groups or [row.group for row in told.surfaces]
    return {(group.kind, group.name): told.maps.mean_over(group, told.maps.uvi) for group in groups}


def changes(before: Means, now: Means) -> tuple[Change, ...]:
    """Return the change of all that is told in both; its error is that of `sim.analysis.comparison.difference`."""
    both = [(key[1], before[key], now[key]) for key in now if key in before]
    return tuple(Change(name, estimate(old), estimate(new), difference(old, new)) for name, old, new in both)
