"""The colours of a quantity: from zero to a top that all maps of the picture share."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import pyvista as pv

from sim.analysis.coverage import reachable_groups
from sim.analysis.maps import counted
from sim.analysis.selection import Selection
from sim.report.map_scale import MapScale, map_scale
from sim.report.panels import Panel
from sim.tally.result import Group
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
    lamps : str
        Which lamps are not at their own level, empty where all are.
    """

    title: str
    unit: str
    ticks: MapScale
    typical_error: float
    lamps: str = ""

    @property
    def table(self) -> pv.LookupTable:
        """256 colours from zero to the top."""
        return pv.LookupTable(COLOURS, n_values=256, scalar_range=(0.0, self.ticks.top))


def scale_for(shown: Selection) -> Scale:
    """Return the scale of what is shown, cut as in the report: what an animal can reach is never beyond its top."""
    result = shown.result
    reach = [_row(shown, group) for group in reachable_groups(result)]
    maps = [_row(shown, group) for group in mapped(result)]
    errors = np.concatenate([np.zeros(0), *(panel.se[np.isfinite(panel.se)] for panel in maps)])
    typical = float(np.median(errors)) if errors.size else 0.0
    return Scale(shown.title, shown.unit, map_scale(reach, maps), typical, shown.lamp_words)


def _row(shown: Selection, group: Group) -> Panel:
    """Return a group's numbers in a row, NaN where an opening takes the whole cell."""
    there = counted(shown.result.area[group.rows])
    rows = group.rows
    values, se = (np.where(there, part[rows], np.nan)[None, :] for part in (shown.numbers, shown.found.se))
    return Panel(group, values, se, (0.0, 1.0), (0.0, 1.0), ("u", "v"))
