"""Drawing panels as maps: cells as cells, labelled contours, the highest place pointed at."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from sim.analysis.numbers import plain
from sim.report.contours import HALO, draw_contours
from sim.report.drawing import INK, MAP_COLOURS
from sim.report.map_scale import MapScale
from sim.report.mark_names import CLEAR, Box, name_boxes
from sim.report.panels import Mark, Panel
from sim.report.rulers import add_ruler, add_rulers
from sim.tally.result import FloatArray

GAP = (0.62, 0.62)
"""Room between panels for ticks and names, across and up [in]."""
BAR = 0.75
"""Height of the strip with the colour bar [in]."""
MARGIN = 0.25
SLOT = 1.65
"""Least width of a panel with what is written beside its highest cell [in]."""
TOLD = (0.085, 0.5)
"""Width of a letter of the words on the highest cell, and how far up or down they reach from it [in]."""
LETTER = 0.08
"""Width of a letter of a panel's name [in]: told, not measured, which takes far longer."""
SHORTEST = 0.25
"""Least length of a contour, over the shorter side of its panel."""
APART = 0.3
"""Least distance between the values of two contours [in]."""


@dataclass(frozen=True)
class Spot:
    """Where a panel goes on the page: lower left corner [in], and which of its axes run backwards."""

    panel: Panel
    left: float
    bottom: float
    backwards_across: bool = False
    backwards_up: bool = False


@dataclass(frozen=True)
class Sheet:
    """Panels laid out.

    Attributes
    ----------
    spots : tuple of Spot
    width, height : float [in]
        Of the area that they take, without margins and colour bar.
    inches_per_unit : float
        Scale of the drawing, the same for all.
    """

    spots: tuple[Spot, ...]
    width: float
    height: float
    inches_per_unit: float


def rows_sheet(panels: Sequence[Panel], width: float, tallest: float = 2.6) -> Sheet:
    """Return panels in rows, all to one scale, as large as the width and the tallest panel allow.

    Parameters
    ----------
    panels : sequence of Panel, at least one
    width, tallest : float [in]
    """
    widest = max(panel.size[0] for panel in panels)
    scale = min((width - GAP[0]) / widest, tallest / max(panel.size[1] for panel in panels))
    rows: list[list[Panel]] = [[]]
    room = width
    for panel in panels:
        taken = _slot(panel, scale) + GAP[0]
        if rows[-1] and taken > room:
            rows.append([])
            room = width
        rows[-1].append(panel)
        room -= taken
    heights = [max(panel.size[1] * scale for panel in row) + GAP[1] for row in rows]
    spots, top = [], sum(heights)
    for row, height in zip(rows, heights, strict=True):
        left = GAP[0]
        for panel in row:
            spots.append(Spot(panel, left, top - height + GAP[1] - 0.2))
            left += _slot(panel, scale) + GAP[0]
        top -= height
    return Sheet(tuple(spots), width, sum(heights), scale)


def _slot(panel: Panel, scale: float) -> float:
    """Return the width that a panel takes with its name [in]."""
    return max(panel.size[0] * scale, SLOT, LETTER * len(_title(panel)))


def _title(panel: Panel) -> str:
    return panel.name if panel.level is None else f"{panel.name}, at {plain(panel.level)} {panel.unit.symbol}"


def split_sheet(panels: Sequence[Panel], width: float, tallest: float) -> list[list[Panel]]:
    """Return panels in order, as few lists as make sheets no taller than a page.

    Parameters
    ----------
    panels : sequence of Panel
    width, tallest : float [in]
    """
    sheets: list[list[Panel]] = []
    for panel in panels:
        if sheets and rows_sheet([*sheets[-1], panel], width).height <= tallest:
            sheets[-1].append(panel)
        else:
            sheets.append([panel])
    return sheets


def map_figure(sheet: Sheet, scale: MapScale, highest: str) -> Figure:
    """Return a figure with all panels of a sheet and one colour bar.

    Parameters
    ----------
    sheet : Sheet
    scale : MapScale
    highest : str
        What is told beside the ring on the highest cell: not what that cell reads, which is partly luck.
    """
    width, height = sheet.width + 2 * MARGIN, sheet.height + BAR + 2 * MARGIN
    figure = Figure(figsize=(width, height))
    brightest = max(sheet.spots, key=lambda spot: spot.panel.highest[2])
    for spot in sheet.spots:
        across, up = (length * sheet.inches_per_unit for length in spot.panel.size)
        place = ((spot.left + MARGIN) / width, (spot.bottom + BAR + MARGIN) / height, across / width, up / height)
        axes = figure.add_axes(place)
        told = _told_beside(spot, across < SLOT, sheet.inches_per_unit, highest) if spot is brightest else None
        _draw(axes, spot, scale, sheet.inches_per_unit, told)
        if spot is brightest:
            axes.set_zorder(2)
            _point_at(axes, spot, f"highest\n{highest}", narrow=across < SLOT)
    _bar(figure, scale, brightest.panel.highest[2], (width, height))
    return figure


def _draw(axes: Axes, spot: Spot, scale: MapScale, inches_per_unit: float, told: Box | None) -> None:
    panel = spot.panel
    image = axes.imshow(
        np.ma.masked_invalid(panel.values),
        origin="lower",
        extent=(*panel.across, *panel.up),
        cmap=MAP_COLOURS,
        norm=scale.norm,
        interpolation="none",  # a cell is one number: nothing between cells is known
        aspect="auto",
    )
    image.set_clip_on(False)
    beside = [] if told is None else [told]
    names = name_boxes(panel.marks, panel.across, panel.up, inches_per_unit, beside)
    words = [place for box in (*beside, *names) if box is not None for place in box.places(inches_per_unit)]
    _contours(axes, panel, scale, inches_per_unit, words)
    _marks(axes, panel.marks, names)
    if spot.backwards_across:
        axes.invert_xaxis()
    if spot.backwards_up:
        axes.invert_yaxis()
    axes.set_title(_title(panel), y=1.0, pad=4)
    titles = [f"{axis if axis in 'xyz' else f'along {axis}'}, {panel.unit.symbol}" for axis in panel.axes]
    for axis, length in zip((axes.xaxis, axes.yaxis), panel.size, strict=True):
        axis.set_major_locator(
            mpl.ticker.MaxNLocator(nbins=max(1, int(length * inches_per_unit / 0.4)), steps=[1, 2, 5, 10])
        )
    add_rulers(axes, (titles[0], titles[1]), (1.0, 3.0))


def _marks(axes: Axes, marks: Sequence[Mark], names: Sequence[Box | None]) -> None:
    for mark, name in zip(marks, names, strict=True):
        left, low = mark.across[0], mark.up[0]
        size = mark.across[1] - left, mark.up[1] - low
        axes.add_patch(Rectangle((left, low), *size, fill=False, edgecolor=INK, linewidth=2.2, alpha=0.5))
        axes.add_patch(
            Rectangle((left, low), *size, fill=False, edgecolor="white", linewidth=1.0, linestyle=(0, (3, 2)))
        )
        if name is not None:
            axes.text(*name.middle, mark.name, fontsize=7.5, va="center", ha="center", bbox=HALO)


def _contours(axes: Axes, panel: Panel, scale: MapScale, inches_per_unit: float, told: Sequence[FloatArray]) -> None:
    """Draw labelled contours where the field has a shape that stands above its noise."""
    if min(panel.values.shape) < 3 or not _has_shape(panel, scale):
        return
    across, up = panel.cell_centres
    noise = 3.0 * float(np.nanmedian(panel.se))
    low, high = float(np.nanmin(panel.values)) + noise, float(np.nanmax(panel.values)) - noise
    levels = [level for level in scale.levels if low < level < high]
    draw_contours(
        axes,
        (across, up),
        panel.values,
        levels,
        # White on the dark half of the colour map, dark on the bright half.
        lambda level: "white" if level < 0.55 * scale.top else INK,
        least=SHORTEST * min(panel.size),
        apart=APART / inches_per_unit,
        avoid=told,
        clear=CLEAR / inches_per_unit,
    )


def _has_shape(panel: Panel, scale: MapScale) -> bool:
    spread = float(np.nanmax(panel.values) - np.nanmin(panel.values))
    step = scale.levels[0] if scale.levels else math.inf
    return spread > 0.05 * scale.top and 4.0 * float(np.nanmedian(panel.se)) < step


def _sides(spot: Spot, narrow: bool) -> tuple[bool, bool]:
    """Return whether the words on the highest cell stand on its left, and below it."""
    x, y, _ = spot.panel.highest
    left = not narrow and (x - spot.panel.across[0] > 0.5 * spot.panel.size[0]) != spot.backwards_across
    return left, (y > float(np.mean(spot.panel.up))) != spot.backwards_up


def _told_beside(spot: Spot, narrow: bool, inches_per_unit: float, highest: str) -> Box:
    """Return what the words on the highest cell cover, for other words to keep away from."""
    x, y, _ = spot.panel.highest
    left, below = _sides(spot, narrow)
    across = (-1.0 if left else 1.0) * (-1.0 if spot.backwards_across else 1.0) / inches_per_unit
    up = (-1.0 if below else 1.0) * (-1.0 if spot.backwards_up else 1.0) / inches_per_unit
    width = TOLD[0] * max(len(highest), len("highest"))
    ends = sorted((x - 0.1 * across, x + (0.15 + width) * across)), sorted((y - 0.1 * up, y + TOLD[1] * up))
    return Box((ends[0][0], ends[0][1]), (ends[1][0], ends[1][1]))


def _point_at(axes: Axes, spot: Spot, words: str, narrow: bool) -> None:
    """Mark the highest cell of a figure with a ring and words, on the right of a narrow panel."""
    x, y, _ = spot.panel.highest
    axes.plot([x], [y], marker="o", markersize=9, markerfacecolor="none", markeredgecolor="white", markeredgewidth=3)
    axes.plot([x], [y], marker="o", markersize=9, markerfacecolor="none", markeredgecolor=INK, markeredgewidth=1.4)
    left, below = _sides(spot, narrow)
    axes.annotate(
        words,
        (x, y),
        xytext=(-10 if left else 10, -8 if below else 8),
        textcoords="offset points",
        ha="right" if left else "left",
        va="top" if below else "bottom",
        fontsize=8.5,
        fontweight="bold",
        bbox={"boxstyle": "round,pad=0.2", "facecolor": "white", "edgecolor": INK, "linewidth": 0.6},
        zorder=7,
    )


def _bar(figure: Figure, scale: MapScale, highest: float, size: tuple[float, float]) -> None:
    width, height = size
    length = min(4.2, width - 1.0)
    cut = highest > scale.top
    axes = figure.add_axes(((MARGIN + 0.35) / width, (MARGIN + 0.36) / height, length / width, 0.13 / height))
    bar = figure.colorbar(
        ScalarMappable(scale.norm, MAP_COLOURS),
        cax=axes,
        orientation="horizontal",
        extend="max" if cut else "neither",
        ticks=[0.0, *scale.levels, scale.top],
    )
    bar.ax.xaxis.set_major_formatter(lambda value, _: plain(value))
    bar.outline.set_linewidth(0.5)
    note = f" (cells above {plain(scale.top)} share its colour; highest cell {plain(highest)})" if cut else ""
    add_ruler(bar.ax, "below", f"UV index{note}", 2.0)
