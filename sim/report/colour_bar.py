"""The bar that tells what the colours of maps mean."""

from collections.abc import Mapping

import matplotlib as mpl
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from sim.report.drawing import MAP_COLOURS, QUIET
from sim.report.ticks import add_ticks
from sim.tally.result import FloatArray

TIP = 0.05
"""Length of the tip, for colours beyond the scale, over that of the bar."""
LINE = 0.5
"""Of the outline [pt]."""


def add_colour_bar(  # noqa: PLR0913  # one is a keyword
    figure: Figure,
    place: tuple[float, float, float, float],
    colours: FloatArray,
    numbers: Mapping[float, str],
    title: str,
    *,
    tip: bool = False,
) -> None:
    """Add a level bar with numbers and a title under it.

    Parameters
    ----------
    figure : Figure
    place : four float
        Left, lower end, width and height, tip included, over those of the figure.
    colours : (n,) float, 0 … 1
        From left to right, each as wide as the others, as places on the colour map.
    numbers : mapping of float to str
        What is written where, 0 at the left end and 1 at the right one.
    title : str
    tip : bool
        Whether the last colour goes on beyond the bar, into a tip.
    """
    left, low, width, height = place
    axes = figure.add_axes((left, low, width / (1.0 + TIP) if tip else width, height))
    axes.spines[:].set_visible(False)
    axes.imshow(
        colours[None],
        cmap=MAP_COLOURS,
        vmin=0.0,
        vmax=1.0,
        extent=(0.0, 1.0, 0.0, 1.0),
        interpolation="none",
        aspect="auto",
    )
    end = [(1.0, 0.0), (1.0 + TIP, 0.5), (1.0, 1.0)] if tip else [(1.0, 0.0), (1.0, 1.0)]
    if tip:
        last = mpl.colormaps[MAP_COLOURS](float(colours[-1]))
        axes.add_patch(Polygon(end, facecolor=last, edgecolor="none", clip_on=False))
    outline = [(0.0, 0.0), *end, (0.0, 1.0)]
    axes.add_patch(Polygon(outline, fill=False, edgecolor=QUIET, linewidth=LINE, clip_on=False))
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(0.0, 1.0)
    add_ticks(axes, dict(numbers), {}, (title, ""), below=2.0)
