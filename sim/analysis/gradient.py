"""Gradients: how much the UV falls off between where the animal basks and where it hides."""

from dataclasses import dataclass
from itertools import product

import numpy as np

from sim.analysis.maps import Maps, area_weights
from sim.analysis.zones import ZoneReport
from sim.tally.result import Group
from sim.tally.statistics import Estimate, estimate


@dataclass(frozen=True)
class Gradient:
    """From a basking zone to a refuge.

    Attributes
    ----------
    basking, refuge : str
    difference : Estimate
        Mean UVI of the basking zone less that of the refuge; the two share photons, so replicate by replicate.
    distance : float [m]
        Between the middles of the two.
    """

    basking: str
    refuge: str
    difference: Estimate
    distance: float

    @property
    def really_darker(self) -> bool:
        """Whether the refuge is darker beyond the error."""
        return float(self.difference.mean - self.difference.half_width) > 0

    @property
    def really_brighter(self) -> bool:
        """Whether the refuge is brighter beyond the error."""
        return float(self.difference.mean + self.difference.half_width) < 0


def gradients(maps: Maps, zones: tuple[ZoneReport, ...]) -> tuple[Gradient, ...]:
    """Return the gradient of every pair of a basking zone and a refuge."""
    basking = [zone.group for zone in zones if zone.role == "basking"]
    refuges = [zone.group for zone in zones if zone.role == "refuge"]
    return tuple(_gradient(maps, bright, dark) for bright, dark in product(basking, refuges))


def _gradient(maps: Maps, bright: Group, dark: Group) -> Gradient:
    difference = maps.mean_over(bright, maps.uvi) - maps.mean_over(dark, maps.uvi)
    middles = [area_weights(maps.result.area[group.rows]) @ maps.result.centre[group.rows] for group in (bright, dark)]
    distance = float(np.linalg.norm(middles[0] - middles[1]))
    return Gradient(bright.name, dark.name, estimate(difference), distance)
