"""The UV index along the line of points under a lamp."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sim.analysis.maps import Maps
from sim.tally.result import FloatArray, Group
from sim.tally.statistics import Estimate, estimate


@dataclass(frozen=True)
class Curve:
    """UV index against distance.

    Attributes
    ----------
    lamp : str
    distance : (n,) float [m]
        From the lamp's middle, ascending.
    uvi : Estimate, (n,)
        Of a receiver that looks at the lamp.
    """

    lamp: str
    distance: FloatArray
    uvi: Estimate


def curves(maps: Maps, groups: Sequence[Group]) -> list[Curve]:
    """Return the curve of each line of points under a lamp.

    Parameters
    ----------
    maps : Maps
    groups : sequence of Group
        See `sim.analysis.rows.profiles`.
    """
    middles = {lamp.name: np.array(lamp.centre) for lamp in maps.result.lamps}
    found = []
    for group in groups:
        lamp = str((group.detail or {}).get("lamp", group.name))
        points = maps.result.centre[group.rows]
        distance = np.linalg.norm(points - middles[lamp], axis=1)
        order = np.argsort(distance)
        found.append(Curve(lamp, distance[order], estimate(maps.uvi[:, group.rows][:, order])))
    return found
