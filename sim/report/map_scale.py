"""One colour scale over all maps of a report, so that equal colours mean equal light."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.colors import Normalize
from matplotlib.ticker import MaxNLocator

from sim.report.panels import Panel
from sim.tally.result import FloatArray


@dataclass(frozen=True)
class MapScale:
    """From zero to `top`, with the same contour levels on every map.

    Attributes
    ----------
    top : float
    levels : tuple of float
        Values of the contours.
    highest : float
        Highest cell; above `top` where cells next to a lamp would drown all that an animal can reach.
    """

    top: float
    levels: tuple[float, ...]
    highest: float

    @property
    def cut(self) -> bool:
        """Whether some cells are above the scale."""
        return self.highest > self.top

    @property
    def norm(self) -> Normalize:
        """From UV index to 0 … 1."""
        return Normalize(0.0, self.top)


def map_scale(within_reach: Sequence[Panel], surfaces: Sequence[Panel]) -> MapScale:
    """Return the scale that all panels share: up to the highest cell within reach, or what most of the walls show.

    Parameters
    ----------
    within_reach, surfaces : sequence of Panel
    """
    reach, walls = _cells(within_reach), _cells(surfaces)
    highest = float(max(reach.max(initial=0.0), walls.max(initial=0.0)))
    most = float(np.quantile(walls, 0.5 if reach.size else 0.95)) if walls.size else 0.0
    wanted = max(float(reach.max(initial=0.0)), most) or highest
    ticks = MaxNLocator(nbins=8, steps=[1, 2, 2.5, 5, 10]).tick_values(0.0, wanted or 1.0)
    top = float(min(tick for tick in ticks if tick >= wanted)) if wanted > 0 else 1.0
    return MapScale(top, tuple(float(tick) for tick in ticks if 0 < tick < top), highest)


def _cells(panels: Sequence[Panel]) -> FloatArray:
    return np.concatenate([np.zeros(0), *(panel.values[np.isfinite(panel.values)] for panel in panels)])
