"""Zones of a scene against their targets."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.analysis.classification import Classification, classify
from sim.analysis.extremes import Place, highest_place, lowest_place
from sim.analysis.maps import Maps, area_weights
from sim.analysis.numbers import percent, percent_with_error, plain, with_error
from sim.analysis.power_range import PowerBounds, mean_between, power_bounds
from sim.analysis.spectral_share import Share, share_below
from sim.analysis.target import ZoneTarget, target_of
from sim.analysis.verdict import (
    CLOSE,
    INSIDE,
    OUTSIDE,
    Criterion,
    Interval,
    Verdict,
    against,
    combine,
    judge,
    nearest_bound,
)
from sim.tally.result import FloatArray, Group
from sim.tally.statistics import Estimate, estimate, resampled, t_factor

OUT_OF_REACH = "out of reach"
ZONE_WEIGHTINGS = ("erythema", "uvb-315", "uvb-320", "uva", "previtamin-d3", "actinic")
"""What is told of a zone besides the UV index."""


@dataclass(frozen=True)
class Covered:
    """Share of a zone's area whose UVI lies within the bounds of the mean.

    Attributes
    ----------
    share, se, half_width : float
        Of the mean map; the error is resampled, since the share is not linear in the irradiance.
    surely, at_most : float
        Share of the cells whose own 95 % interval lies within the bounds, and of those whose interval touches them.
        Noise in the cells pushes some of them over a bound, which the resampled error does not see; these do.
    """

    share: float
    se: float
    half_width: float
    surely: float
    at_most: float

    @property
    def between(self) -> tuple[float, float]:
        """Least and largest share that the noise leaves open, of the mean map and of its cells."""
        least = max(0.0, min(self.surely, self.share - self.half_width))
        return least, min(1.0, max(self.at_most, self.share + self.half_width))

    @property
    def reach(self) -> float:
        """How far the share may be off on either side."""
        least, largest = self.between
        return max(self.share - least, largest - self.share)


def covered_share(values: FloatArray, weights: FloatArray, low: float, high: float) -> Covered:
    """Return the share of the area whose value lies between two bounds, both included.

    Parameters
    ----------
    values : (replicate, cell) float
    weights : (cell,) float, sum 1
    low, high : float
    """

    def area_where(cells: npt.NDArray[np.bool_]) -> float:
        # All cells together are the whole area, whatever rounding makes of the sum of their shares.
        return round(float(weights @ cells), 12)

    def share(mean: FloatArray) -> float:
        return area_where((mean >= low) & (mean <= high))

    value, se = resampled(values, share)
    each = estimate(values)
    lower, upper = each.mean - each.half_width, each.mean + each.half_width
    surely = area_where((lower >= low) & (upper <= high))
    at_most = area_where((upper >= low) & (lower <= high))
    return Covered(value, se, t_factor(len(values)) * se, surely, at_most)


@dataclass(frozen=True)
class ZoneReport:
    """A zone of the scene and how it stands.

    Attributes
    ----------
    group : Group
    role : str
    height : float, optional [m]
        Of the animal's back over the surface.
    target : ZoneTarget
    uvi : Estimate
        Area mean.
    uvi_between : (Estimate, Estimate), optional
        Area mean with all lamps at the low and at the high end of what is known of their power; None where it is sure.
    low, high : Place
    covered : Covered, optional
        None where the target bounds no mean.
    verdict : Verdict
    exposure_zone : Classification
        The zone 1 to 4 that its mean and highest readings fit.
    below_298 : Share
        Share of the UVI that arrives below 298 nm.
    others : dict of str to Estimate
        Area means of `ZONE_WEIGHTINGS` [W m-2].
    """

    group: Group
    role: str
    height: float | None
    target: ZoneTarget
    uvi: Estimate
    uvi_between: tuple[Estimate, Estimate] | None
    low: Place
    high: Place
    covered: Covered | None
    verdict: Verdict
    exposure_zone: Classification
    below_298: Share
    others: dict[str, Estimate]

    @property
    def name(self) -> str:
        """Name in the scene."""
        return self.group.name

    @property
    def reachable(self) -> bool:
        """Whether an animal can be there."""
        return self.role != OUT_OF_REACH


def zone_report(maps: Maps, group: Group, bounds: PowerBounds | None = None) -> ZoneReport:
    """Return the report of a zone's group; the bounds are those of `power_bounds`."""
    detail, target = group.detail or {}, target_of(group)
    uvi = estimate(maps.mean_over(group, maps.uvi))
    high = highest_place(maps.result, (group,), maps.uvi)
    weights = area_weights(maps.result.area[group.rows])
    covered = covered_share(maps.uvi[:, group.rows], weights, target.low, target.high) if target.has_band else None
    height = detail.get("height_m")
    return ZoneReport(
        group=group,
        role=str(detail.get("role", "")),
        height=None if height is None else float(height),
        target=target,
        uvi=uvi,
        uvi_between=mean_between(bounds, group),
        low=lowest_place(maps.result, (group,), maps.uvi),
        high=high,
        covered=covered,
        verdict=combine(_criteria(target, uvi, high, covered)),
        exposure_zone=classify(max(0.0, float(uvi.mean)), high.value),
        below_298=share_below(maps, group),
        others={name: estimate(maps.mean_of(group, name)) for name in ZONE_WEIGHTINGS},
    )


def zone_reports(maps: Maps) -> tuple[ZoneReport, ...]:
    """Return one report a zone, in the scene's order."""
    bounds = power_bounds(maps)
    return tuple(zone_report(maps, group, bounds) for group in maps.result.of_kind("zone") if group.count)


def _criteria(target: ZoneTarget, uvi: Estimate, high: Place, covered: Covered | None) -> tuple[Criterion, ...]:
    criteria = []
    if target.has_band:
        criteria.append(_mean_criterion(target, uvi))
    if math.isfinite(target.max):
        criteria.append(_max_criterion(target.max, high))
    if target.share is not None and covered is not None:
        criteria.append(_share_criterion(target.share, covered))
    return tuple(criteria)


def _mean_criterion(target: ZoneTarget, uvi: Estimate) -> Criterion:
    value, half = float(uvi.mean), float(uvi.half_width)
    outcome, factor = judge(Interval(value, value - half, value + half), target.low, target.high)
    said = f"the mean UVI, {with_error(value, half)},"
    if outcome == CLOSE:
        bound = nearest_bound(value, target.low, target.high)
        return Criterion("mean", outcome, f"{said} cannot be told from the bound {plain(bound)}", factor)
    return Criterion("mean", outcome, f"{said} is {against(value, target.low, target.high)}", factor)


def _max_criterion(top: float, high: Place) -> Criterion:
    # "Nowhere over" speaks of all cells at once, so it takes the bound over all of them; one place over it suffices
    # for the contrary, and that place was picked by other replicates than those that give its value.
    interval = Interval(high.value, high.value - high.half_width, max(high.bound, high.value + high.half_width))
    outcome, factor = judge(interval, -math.inf, top)
    said = f"the highest UVI, {with_error(high.value, high.half_width)},"
    words = {
        INSIDE: f"{said} is not over {plain(top)}",
        OUTSIDE: f"{said} is over {plain(top)}",
        CLOSE: f"{said} may be over {plain(top)} somewhere"
        if high.value <= top
        else f"{said} may be over {plain(top)}",
    }
    return Criterion("max", outcome, words[outcome], factor)


def _share_criterion(wanted: float, covered: Covered) -> Criterion:
    lower, upper = covered.between
    outcome, factor = judge(Interval(covered.share, lower, upper), wanted, math.inf)
    share = percent_with_error(covered.share, covered.reach)
    said, asked = f"the covered share is {share}", f"{percent(wanted)} is wanted"
    between = f"between {percent(lower)} and {percent(upper)}"
    words = {
        INSIDE: f"{said}, at least {percent(wanted)} as wanted",
        OUTSIDE: f"{said}, {asked}",
        CLOSE: f"the covered share is {percent(covered.share)}, somewhere {between}, {asked}",
    }
    return Criterion("share", outcome, words[outcome], factor)
