"""The UV index along a line from each lamp, against the distance from it."""

import math
from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import LogLocator, NullLocator

from sim.analysis.numbers import plain
from sim.report.curve import Curve
from sim.report.drawing import LINES, QUIET, RULE, SERIES, add_legend, with_margins
from sim.report.lengths import LengthUnit
from sim.report.rulers import add_grid, ruler_room
from sim.scene.exposure_zone import EXPOSURE_ZONES

LINEAR = 10.0
"""Above this the exposure zones, which end at about a third of it, would be crowded on a scale from zero."""
LOWEST = 0.5
"""Where decades begin at the latest, so that the exposure zones are in sight."""
MARKS = ("o", "s", "^", "D", "v", "P")


def profile_figure(shown: Sequence[Curve], unit: LengthUnit) -> Figure:
    """Return UV index against distance, one line a lamp with its 95 % interval, exposure zones behind.

    Parameters
    ----------
    shown : sequence of Curve
    unit : LengthUnit
        That distances are drawn in.
    """
    figure = Figure(figsize=(7.6, 4.4))
    axes = figure.add_subplot()
    for index, curve in enumerate(shown):
        across, mean, half = unit.per_metre * curve.distance, curve.uvi.mean, curve.uvi.half_width
        colour = SERIES[index % len(SERIES)]
        axes.fill_between(across, mean - half, mean + half, color=colour, alpha=0.25, linewidth=0)
        line, mark = LINES[index % len(LINES)], MARKS[index % len(MARKS)]
        axes.plot(across, mean, color=colour, linestyle=line, marker=mark, markersize=3.5, label=curve.lamp)
    lowest = min(float(curve.uvi.mean.min()) for curve in shown)
    _scale(axes, lowest, max(float(curve.uvi.mean.max()) for curve in shown))
    axes.set_xlim(left=0.0)
    _shade_zones(axes)
    add_grid(axes, (f"distance from the lamp's middle, {unit.symbol}", "UV index, looking at the lamp"))
    with_margins(figure, max(0.58, ruler_room(axes)), 0.52)
    add_legend(figure, axes, "under")
    return figure


def _scale(axes: Axes, lowest: float, highest: float) -> None:
    """Go from zero, or by decades where the lamp comes so near that all else would lie at the edge."""
    if highest <= 0 or (highest < 8.0 * lowest and highest <= LINEAR):
        axes.set_ylim(0.0, 1.05 * highest or 1.0)
        return
    axes.set_yscale("log")
    axes.set_ylim(max(min(0.8 * lowest, LOWEST), highest / 300.0), 1.25 * highest)
    axes.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axes.yaxis.set_major_formatter(lambda value, _: plain(value))
    axes.yaxis.set_minor_locator(NullLocator())


def _shade_zones(axes: Axes) -> None:
    bottom, top = axes.get_ylim()
    for number, zone in EXPOSURE_ZONES.items():
        low, high = max(zone.low, bottom), min(zone.high, top)
        if low >= high:
            continue
        axes.axhspan(low, high, color=RULE if number % 2 == 0 else "#e7ebec", zorder=0, linewidth=0)
        axes.annotate(
            f"zone {number}",
            (1.0, math.sqrt(low * high) if axes.get_yscale() == "log" else 0.5 * (low + high)),
            xycoords=("axes fraction", "data"),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=8,
            color=QUIET,
            annotation_clip=False,
        )
