"""The UV index down a vertical line under each lamp."""

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import LogLocator, NullLocator

from sim.analysis.maps import Maps
from sim.analysis.numbers import plain
from sim.report.drawing import QUIET, RULE, SERIES, plain_axes
from sim.scene.exposure_zone import EXPOSURE_ZONES
from sim.tally.result import Group
from sim.tally.statistics import estimate

LEFT = 0.5
"""Where decades begin at the latest, so that the exposure zones are in sight."""
_LINES = ("-", "--", "-.", ":")


def profile_figure(maps: Maps, groups: Sequence[Group]) -> Figure:
    """Return UV index against height, one line a lamp with its 95 % interval, exposure zones behind.

    Parameters
    ----------
    maps : Maps
    groups : sequence of Group
        Points under the lamps, see `sim.analysis.rows.profiles`.
    """
    figure = Figure(figsize=(6.4, 4.2), layout="constrained")
    axes = figure.add_subplot()
    lowest, highest = math.inf, 0.0
    for index, group in enumerate(groups):
        order = np.argsort(maps.result.centre[group.rows, 2])
        height = 100.0 * maps.result.centre[group.rows, 2][order]
        found = estimate(maps.uvi[:, group.rows][:, order])
        colour = SERIES[index % len(SERIES)]
        axes.fill_betweenx(
            height, found.mean - found.half_width, found.mean + found.half_width, color=colour, alpha=0.25, linewidth=0
        )
        style = _LINES[index // len(SERIES) % len(_LINES)]
        axes.plot(found.mean, height, style, color=colour, marker="o", markersize=3, label=_lamp_name(group))
        lowest, highest = min(lowest, float(found.mean.min())), max(highest, float(found.mean.max()))
    _scale(axes, lowest, highest)
    axes.set_ylim(bottom=0.0)
    _shade_zones(axes)
    axes.set_title("Exposure zones 1 to 4 shaded", pad=16, fontsize=9, fontweight="normal", color=QUIET)
    axes.set_xlabel("UV index, facing up")
    axes.set_ylabel("height, cm")
    plain_axes(axes)
    axes.legend(frameon=False, title="straight under", title_fontsize=9)
    return figure


def _scale(axes: Axes, lowest: float, highest: float) -> None:
    """Go from zero, or by decades where the lamp comes so near that all else would lie at the edge."""
    if highest < 8.0 * lowest or highest <= 0:
        axes.set_xlim(0.0, 1.05 * highest or 1.0)
        return
    axes.set_xscale("log")
    axes.set_xlim(max(min(0.8 * lowest, LEFT), highest / 300.0), 1.25 * highest)
    axes.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axes.xaxis.set_major_formatter(lambda value, _: plain(value))
    axes.xaxis.set_minor_locator(NullLocator())


def _shade_zones(axes: Axes) -> None:
    left, right = axes.get_xlim()
    for number, zone in EXPOSURE_ZONES.items():
        low, high = max(zone.low, left), min(zone.high, right)
        if low >= high:
            continue
        axes.axvspan(low, high, color=RULE if number % 2 == 0 else "#e7ebec", zorder=0, linewidth=0)
        middle = math.sqrt(low * high) if axes.get_xscale() == "log" else 0.5 * (low + high)
        axes.annotate(
            str(number),
            (middle, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 3),
            textcoords="offset points",
            ha="center",
            fontsize=8,
            color=QUIET,
            annotation_clip=False,
        )


def _lamp_name(group: Group) -> str:
    return str((group.detail or {}).get("lamp", group.name))
