"""The whole scene's answer: zones, gradients, and every place within reach that gets too much."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from sim.analysis.energy import PowerBudget, power_budget
from sim.analysis.extremes import Place, highest_place
from sim.analysis.gradient import Gradient, gradients
from sim.analysis.maps import Maps, counted
from sim.analysis.rows import Row, sensor_rows, surface_rows
from sim.analysis.verdict import CLOSE, INSIDE, NO_TARGET, OUTSIDE, Outcome
from sim.analysis.zones import OUT_OF_REACH, ZoneReport, zone_reports
from sim.tally.result import Group, Result
from sim.tally.statistics import estimate, t_factor

SAME = 1e-6
"""Places are in one plane [m], or within an outline as a share of it, up to this."""


@dataclass(frozen=True)
class Peak:
    """The highest UVI within reach.

    Attributes
    ----------
    place : Place
    kind : str
        Of the group it belongs to: ``"reach"`` or ``"zone"``.
    lamp : str
        The nearest lamp.
    lamp_distance : float [m]
        From the place to that lamp's centre.
    """

    place: Place
    kind: str
    lamp: str
    lamp_distance: float


@dataclass(frozen=True)
class HotSpot:
    """A surface or zone within reach where some cells are over the limit.

    Attributes
    ----------
    peak : Peak
        Its highest place.
    limit : float
        UVI not to be exceeded there.
    limit_from : str
        Name of the zone that sets the limit.
    area, area_surely : float [m2]
        Of the cells over it, and of those over it with 97.5 % confidence for all of them at once.
    sure : bool
        Whether a place is over the limit beyond the error: its highest place, or a cell among all at once. Either is
        wrong in at most 2.5 % of the surfaces that lie on their limit.
    """

    peak: Peak
    limit: float
    limit_from: str
    area: float
    area_surely: float
    sure: bool


@dataclass(frozen=True)
class SceneAnswer:
    """What a run says about a scene.

    Attributes
    ----------
    maps : Maps
    zones : tuple of ZoneReport
    gradients : tuple of Gradient
    peak : Peak, optional
        None where nothing is within reach.
    hot_spots : tuple of HotSpot
        Brightest first; there are none without a limit.
    limit : (float, str), optional
        Limit outside the zones and the zone that sets it.
    """

    maps: Maps
    zones: tuple[ZoneReport, ...]
    gradients: tuple[Gradient, ...]
    peak: Peak | None
    hot_spots: tuple[HotSpot, ...]
    limit: tuple[float, str] | None

    @property
    def result(self) -> Result:
        """The result that was read."""
        return self.maps.result

    @cached_property
    def surfaces(self) -> tuple[Row, ...]:
        """One row a surface; pictures do without."""
        return surface_rows(self.maps)

    @cached_property
    def power(self) -> PowerBudget:
        """Where the power of the lamps goes."""
        return power_budget(self.result, self.maps.levels)

    @cached_property
    def sensors(self) -> tuple[Row, ...]:
        """One row a sensor."""
        return sensor_rows(self.maps)

    @property
    def outcome(self) -> Outcome:
        """All zones and hot spots together: outside if any is, inside if all are."""
        outcomes = {zone.verdict.outcome for zone in self.zones}
        if OUTSIDE in outcomes or any(spot.sure for spot in self.hot_spots):
            return OUTSIDE
        if CLOSE in outcomes or self.hot_spots:
            return CLOSE
        return INSIDE if INSIDE in outcomes else NO_TARGET


def answer(result: Result, levels: npt.ArrayLike | None = None) -> SceneAnswer:
    """Return what a result says about its scene.

    Parameters
    ----------
    result : Result
    levels : (lamp,) float, >= 0, optional
        Factors on the lamps' powers.
    """
    maps = Maps(result, levels)
    zones = zone_reports(maps)
    reachable = reachable_groups(result)
    limit = general_limit(zones)
    return SceneAnswer(
        maps=maps,
        zones=zones,
        gradients=gradients(maps, zones),
        peak=_peak(maps, reachable) if reachable else None,
        hot_spots=_hot_spots(maps, reachable, zones, limit),
        limit=limit,
    )


def reachable_groups(result: Result) -> tuple[Group, ...]:
    """Return the groups of places where an animal can be."""
    zones = (group for group in result.of_kind("zone") if (group.detail or {}).get("role") != OUT_OF_REACH)
    return tuple(group for group in (*result.of_kind("reach"), *zones) if group.count)


def general_limit(zones: tuple[ZoneReport, ...]) -> tuple[float, str] | None:
    """Return the UVI not to be exceeded outside the zones, and the zone that sets it.

    The highest reading of a basking zone stands for the animal that basks there, which can go everywhere: the lowest
    of them counts. Only where no basking zone has one do passages set it. A refuge never does: what it must not
    exceed is said of the refuge alone.
    """
    limited = [zone for zone in zones if zone.role in ("basking", "passage") and math.isfinite(zone.target.max)]
    basking = [zone for zone in limited if zone.role == "basking"]
    lowest = min(basking or limited, key=lambda zone: zone.target.max, default=None)
    return None if lowest is None else (lowest.target.max, lowest.name)


def _peak(maps: Maps, groups: tuple[Group, ...]) -> Peak:
    place = highest_place(maps.result, groups, maps.uvi)
    kind = next(group.kind for group in groups if group.first <= place.row < group.first + group.count)
    distances = [math.dist(place.position, lamp.centre) for lamp in maps.result.lamps]
    if not distances:
        return Peak(place, kind, "", math.inf)
    nearest = int(np.argmin(distances))
    return Peak(place, kind, maps.result.lamps[nearest].name, distances[nearest])


def _hot_spots(
    maps: Maps, groups: tuple[Group, ...], zones: tuple[ZoneReport, ...], limit: tuple[float, str] | None
) -> tuple[HotSpot, ...]:
    """Return the hot spots; what a zone tells is not told of the surface under it again."""
    own = {zone.name: (zone.target.max, zone.name) for zone in zones}
    spots: list[HotSpot] = []
    told: list[tuple[Group, HotSpot]] = []
    for group in sorted(groups, key=lambda group: group.kind != "zone"):
        limits = [own[group.name]] if group.kind == "zone" else []
        limits += [limit] if limit is not None else []
        value, source = min(limits, default=(math.inf, ""))
        spot = _hot_spot(maps, group, value, source) if math.isfinite(value) else None
        if spot is None:
            continue
        if group.kind == "zone":
            told.append((group, spot))
        elif any(_tells(maps, zone, its, group, spot) for zone, its in told):
            continue
        spots.append(spot)
    return tuple(sorted(spots, key=lambda spot: -spot.peak.place.value))


def _tells(maps: Maps, zone: Group, its: HotSpot, group: Group, spot: HotSpot) -> bool:
    """Return whether the hot spot of a zone is that of the surface which the zone lies on."""
    # A zone without a grid lies on a body that is not flat.
    if zone.shape == (0, 0) or its.limit > spot.limit or (spot.sure and not its.sure):
        return False
    u, v = np.array(zone.edge_u), np.array(zone.edge_v)
    over = (maps.uvi[:, group.rows].mean(axis=0) > spot.limit) & counted(maps.result.area[group.rows])
    away = maps.result.centre[group.rows][over] - np.array(zone.origin)
    along = np.stack([away @ edge / (edge @ edge) for edge in (u, v)])
    apart = np.linalg.norm(away - along[0][:, None] * u - along[1][:, None] * v, axis=1)
    return bool(np.all((along > -SAME) & (along < 1.0 + SAME)) and np.all(apart < SAME))


def _hot_spot(maps: Maps, group: Group, limit: float, source: str) -> HotSpot | None:
    area = maps.result.area[group.rows]
    each = estimate(maps.uvi[:, group.rows])
    over = (each.mean > limit) & counted(area)
    if not np.any(over):
        return None
    surely = over & (each.mean - t_factor(each.replicates, 1.0 - 0.05 / len(area)) * each.se > limit)
    peak = _peak(maps, (group,))
    return HotSpot(
        peak=peak,
        limit=limit,
        limit_from=source,
        area=float(area[over].sum()),
        area_surely=float(area[surely].sum()),
        sure=bool(np.any(surely)) or peak.place.value - peak.place.half_width > limit,
    )
