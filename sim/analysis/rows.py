"""Surfaces and sensors, one row each: means over their area, and their extremes."""

from dataclasses import dataclass

from sim.analysis.extremes import Place, highest_place, lowest_place
from sim.analysis.maps import Maps
from sim.tally.result import Group, GroupKind
from sim.tally.statistics import Estimate, estimate

_PROFILE_KINDS: tuple[GroupKind, ...] = ("section", "sensor")


@dataclass(frozen=True)
class Row:
    """A surface or a sensor.

    Attributes
    ----------
    group : Group
    area : float [m2]
        Zero for a point.
    irradiance : Estimate [W m-2]
        Area mean, unweighted.
    uvi : Estimate
        Area mean.
    low, high : Place
        Lowest and highest UVI over the cells.
    """

    group: Group
    area: float
    irradiance: Estimate
    uvi: Estimate
    low: Place
    high: Place

    @property
    def name(self) -> str:
        """Name in the scene."""
        return self.group.name


def row(maps: Maps, group: Group) -> Row:
    """Return the row of a group."""
    return Row(
        group=group,
        area=float(maps.result.area[group.rows].sum()),
        irradiance=estimate(maps.mean_over(group, maps.irradiance)),
        uvi=estimate(maps.mean_over(group, maps.uvi)),
        low=lowest_place(maps.result, (group,), maps.uvi),
        high=highest_place(maps.result, (group,), maps.uvi),
    )


def surface_rows(maps: Maps) -> tuple[Row, ...]:
    """Return one row a surface."""
    return tuple(row(maps, group) for group in maps.result.of_kind("surface") if group.count)


def sensor_rows(maps: Maps) -> tuple[Row, ...]:
    """Return one row a sensor; the points under the lamps are profiles, see `profiles`."""
    return tuple(row(maps, group) for group in maps.result.of_kind("sensor") if group.count and not is_profile(group))


def profiles(maps: Maps) -> tuple[Group, ...]:
    """Return the groups of points that follow a vertical line under a lamp."""
    # With sections, the same lines were traced on.
    found = [
        tuple(group for group in maps.result.of_kind(kind) if group.count and is_profile(group))
        for kind in _PROFILE_KINDS
    ]
    return found[0] or found[1]


def is_profile(group: Group) -> bool:
    """Return whether a group is the line of points under a lamp."""
    return (group.detail or {}).get("kind") == "profile"
