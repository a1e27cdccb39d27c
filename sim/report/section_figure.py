"""Sections drawn as maps on a scale of tenfold steps, with contours and their values and what the plane cuts."""

from collections.abc import Sequence
from dataclasses import dataclass

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import BoundaryNorm
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from sim.analysis.numbers import plain
from sim.report.contours import HALO, draw_contours
from sim.report.drawing import INK, MAP_COLOURS
from sim.report.lengths import LengthUnit
from sim.report.panels import Mark
from sim.report.rulers import add_ruler, add_rulers
from sim.tally.result import FloatArray

FAINTEST = 0.1
"""UV index below which all is one colour, unless nothing is brighter."""
DECADES = 3.0
"""The scale spans at most so many decades."""
CERTAIN = 0.15
"""Contours run only where the standard error is below this share of the value."""
SHORTEST, APART = 0.25, 0.1
"""Least length of a contour and distance of its label from others, over the shorter side of a section."""
GAP, SIDE, BAR = (0.75, 0.72), 0.2, 0.8
WIDTH, TALLEST = 9.1, 3.4
SLOT = 2.2
"""Least width of a plane with its title [in]."""


@dataclass(frozen=True)
class Plane:
    """A section ready to be drawn; lengths in its unit.

    Attributes
    ----------
    title : str
    labels : (str, str)
        Of the two axes, without unit.
    across, up : (float, float)
    mean, se : (vertical, horizontal) float
    lines : (n, 2, 2) float
        What the plane cuts.
    marks : tuple of Mark
        Zones; one without height is a line.
    downward : bool
        Whether `up` runs down the page.
    """

    title: str
    labels: tuple[str, str]
    across: tuple[float, float]
    up: tuple[float, float]
    mean: FloatArray
    se: FloatArray
    lines: FloatArray
    marks: tuple[Mark, ...] = ()
    downward: bool = False

    @property
    def size(self) -> tuple[float, float]:
        """Width and height."""
        return self.across[1] - self.across[0], self.up[1] - self.up[0]

    @property
    def highest(self) -> tuple[float, float, float]:
        """Middle of the brightest cell along both axes, and its value."""
        row, column = np.unravel_index(int(np.nanargmax(self.mean)), self.mean.shape)
        across, up = self.middles
        return float(across[column]), float(up[row]), float(self.mean[row, column])

    @property
    def middles(self) -> tuple[FloatArray, FloatArray]:
        """Middles of the cells along both axes."""
        rows, columns = self.mean.shape
        return _middles(self.across, columns), _middles(self.up, rows)


def _middles(extent: tuple[float, float], count: int) -> FloatArray:
    edges = np.linspace(*extent, count + 1)
    middles: FloatArray = 0.5 * (edges[1:] + edges[:-1])
    return middles


def contour_values(highest: float) -> list[float]:
    """Return 1, 2, 5, 10 … below a highest value, over three decades at most, and not below `FAINTEST` in its light."""
    if not highest > 0.0:
        return []
    lowest = max(highest * 10.0**-DECADES, FAINTEST if highest > 2.0 * FAINTEST else 0.0)
    steps = [mantissa * 10.0**power for power in range(-9, 7) for mantissa in (1.0, 2.0, 5.0)]
    return [step for step in steps if lowest * 0.999 <= step < highest]


def section_figure(
    planes: Sequence[Plane], unit: LengthUnit, *, reading: str = "UV index, facing up", highest: float | None = None
) -> Figure:
    """Return the planes in rows, all to one scale, with one colour bar.

    Parameters
    ----------
    planes : sequence of Plane, at least one, with a cell each that is read
    unit : LengthUnit
    reading : str
        What the colours tell.
    highest : float, optional
        That the colours go up to, for one scale over several figures; the highest cell if left out.
    """
    width = WIDTH
    scale = min((width - GAP[0] - 2 * SIDE) / max(p.size[0] for p in planes), TALLEST / max(p.size[1] for p in planes))
    rows: list[list[Plane]] = [[]]
    room = width - 2 * SIDE
    for plane in planes:
        taken = max(plane.size[0] * scale, SLOT) + GAP[0]
        if rows[-1] and taken > room:
            rows.append([])
            room = width - 2 * SIDE
        rows[-1].append(plane)
        room -= taken
    heights = [max(plane.size[1] for plane in row) * scale + GAP[1] for row in rows]
    height = sum(heights) + BAR + SIDE
    figure = Figure(figsize=(width, height))
    here = max(plane.highest[2] for plane in planes)
    most = here if highest is None else highest
    values = contour_values(most)
    norm = _norm(values, most)
    top = height - SIDE
    for row, tall in zip(rows, heights, strict=True):
        left = SIDE + GAP[0] - 0.1
        for plane in row:
            size = plane.size[0] * scale, plane.size[1] * scale
            place = (left / width, (top - tall + 0.42) / height, size[0] / width, size[1] / height)
            _draw(figure.add_axes(place), plane, norm, values, unit)
            left += max(size[0], SLOT) + GAP[0]
        top -= tall
    _bar(figure, norm, values, (width, height), f"{reading} (highest cell {plain(here)})")
    return figure


def _norm(values: Sequence[float], highest: float) -> BoundaryNorm:
    """Give each step between contours one colour, evenly over the colour map."""
    edges = [0.0, *values, highest * 1.0001 or 1.0]
    return BoundaryNorm(edges, mpl.colormaps[MAP_COLOURS].N)


def _draw(axes: Axes, plane: Plane, norm: BoundaryNorm, values: Sequence[float], unit: LengthUnit) -> None:
    axes.set_facecolor("#eceff1")
    axes.imshow(
        np.ma.masked_invalid(plane.mean),
        origin="lower",
        extent=(*plane.across, *plane.up),
        cmap=MAP_COLOURS,
        norm=norm,
        interpolation="none",  # a cell is one number: nothing between cells is known
        aspect="auto",
    )
    # One path of all: a mesh gives thousands of lines, of which each would take as long to draw.
    cut = Path(plane.lines.reshape(-1, 2), np.tile([Path.MOVETO, Path.LINETO], len(plane.lines)))
    for look in ({"edgecolor": "white", "linewidth": 2.4, "alpha": 0.6}, {"edgecolor": INK, "linewidth": 0.9}):
        # As a mere artist: nobody looks how far it reaches, since the limits are those of the plane.
        axes.add_artist(PathPatch(cut, fill=False, zorder=2, **look))
    _contours(axes, plane, norm, values)
    for mark in plane.marks:
        _mark(axes, mark)
    axes.set_xlim(*plane.across)
    axes.set_ylim(*(reversed(plane.up) if plane.downward else plane.up))
    axes.set_title(plane.title, y=1.0, pad=4)
    add_rulers(axes, (f"{plane.labels[0]}, {unit.symbol}", f"{plane.labels[1]}, {unit.symbol}"))


def _contours(axes: Axes, plane: Plane, norm: BoundaryNorm, values: Sequence[float]) -> None:
    known = np.ma.masked_where(~(plane.se <= CERTAIN * np.abs(plane.mean)), plane.mean)
    if min(plane.mean.shape) < 3 or known.count() < 9:
        return
    inside = [value for value in values if float(known.min()) < value < float(known.max())]
    half = 0.5 * mpl.colormaps[MAP_COLOURS].N
    draw_contours(
        axes,
        plane.middles,
        known,
        inside,
        lambda value: "white" if float(norm(0.999 * value)) < half else INK,
        least=SHORTEST * min(plane.size),
        apart=APART * min(plane.size),
    )


def _mark(axes: Axes, mark: Mark) -> None:
    (left, right), (low, high) = mark.across, mark.up
    box = ([left, right, right, left, left], [low, low, high, high, low])
    axes.plot(*box, color=INK, linewidth=2.6, alpha=0.6, zorder=3.5)
    axes.plot(*box, color="white", linewidth=1.2, linestyle=(0, (3, 2)), zorder=3.6)
    axes.annotate(
        mark.name,
        (0.5 * (left + right), high),
        xytext=(0, 4),
        textcoords="offset points",
        ha="center",
        va="bottom",
        fontsize=7.5,
        bbox=HALO,
        zorder=6,
        annotation_clip=True,
    )


def _bar(figure: Figure, norm: BoundaryNorm, values: Sequence[float], size: tuple[float, float], reading: str) -> None:
    width, height = size
    length = min(5.0, width - 1.4)
    axes = figure.add_axes(((SIDE + GAP[0] - 0.1) / width, 0.45 / height, length / width, 0.14 / height))
    bar = figure.colorbar(
        ScalarMappable(norm, MAP_COLOURS), cax=axes, orientation="horizontal", spacing="uniform", ticks=[0.0, *values]
    )
    bar.ax.xaxis.set_major_formatter(lambda value, _: plain(value))
    bar.outline.set_linewidth(0.5)
    add_ruler(bar.ax, "below", reading, 2.0)
