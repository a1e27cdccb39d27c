"""The colours of a quantity: from zero to a top that all maps of the picture share."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import pyvista as pv

from sim.analysis.coverage import reachable_groups
from sim.analysis.maps import Maps, counted
from sim.report.map_scale import MapScale, map_scale
from sim.report.panels import Panel
from sim.spectra.weighting import WEIGHTINGS
from sim.tally.result import FloatArray, Group, Result
from sim.tally.statistics import estimate
from viewer.layers import mapped

COLOURS: Final = "cividis"
"""Even steps in lightness, alike for colour-blind eyes: J. Nunez, C. Anderton, R. Renslow, PLoS ONE 13(7), 2018."""


@dataclass(frozen=True)
class Scale:
    """What a colour bar tells.

    Attributes
    ----------
    title, unit : str
    ticks : MapScale
    typical_error : float
        Median over the cells of the standard error [unit].
    """

    title: str
    unit: str
    ticks: MapScale
    typical_error: float

    @property
    def table(self) -> pv.LookupTable:
        """256 colours from zero to the top."""
        return pv.LookupTable(COLOURS, n_values=256, scalar_range=(0.0, self.ticks.top))


def unit_of(quantity: str) -> str:
    """Return the unit of a weighting as it is written in pictures, empty for a pure number."""
    return WEIGHTINGS[quantity].unit.replace("m2", "m²")


def scale_for(result: Result, quantity: str) -> Scale:
    """Return the scale of a quantity, cut as in the report: what an animal can reach is never beyond its top."""
    weighting = WEIGHTINGS[quantity]
    values = Maps(result).of(weighting)
    maps = mapped(result)
    reach = [_row(result, group, values) for group in reachable_groups(result)]
    walls = [_row(result, group, values) for group in maps]
    errors = np.concatenate([np.zeros(0), *(panel.se[np.isfinite(panel.se)] for panel in walls)])
    typical = float(np.median(errors)) if errors.size else 0.0
    return Scale(weighting.title, unit_of(quantity), map_scale(reach, walls), typical)


def _row(result: Result, group: Group, values: FloatArray) -> Panel:
    """Return a group's values in a row, NaN where an opening takes the whole cell."""
    found = estimate(values[:, group.rows])
    there = counted(result.area[group.rows])
    mean, se = (np.where(there, part, np.nan)[None, :] for part in (found.mean, found.se))
    return Panel(group, mean, se, (0.0, 1.0), (0.0, 1.0), ("u", "v"))
