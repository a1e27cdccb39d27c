"""The rulers of axes: ticks, their numbers and a name, below, on the left or on the right, and a grid.

What matplotlib itself puts beside axes is five objects a tick, which it measures and places three times. A page has
hundreds of ticks: they took half of the time of its figures. Here a ruler is one object.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backend_bases import GraphicsContextBase, RendererBase
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.transforms import Bbox, IdentityTransform

from sim.report.drawing import INK, QUIET, RULE
from sim.tally.result import FloatArray

BoolArray = npt.NDArray[np.bool_]
Side = Literal["below", "left", "right"]
THICK, THIN, GRID = 0.7, 0.6, 0.5
"""Thickness of ticks, of small ticks and of lines of a grid [pt]."""
SMALL = 2.0
"""Length of a small tick [pt]."""
DESCENDER = 0.2
"""Share of the height of a number's box that is below its figures."""
FACTOR, APART = 9.0, 3.0
"""Height of the factor on all numbers, where there is one, and room between it and axes or numbers [pt]."""


@dataclass(frozen=True)
class Sizes:
    """Length of a tick, room between it and its number, height of numbers and of a name [pt]."""

    tick: float
    room: float
    number: float
    name: float


PAD, LINE = 4.0, 1.3
"""Room between the numbers of a graph and the name [pt], and that of a line of words over its height."""
OF_MAP, OF_GRAPH = Sizes(2.5, 2.0, 8.0, 9.0), Sizes(3.5, 3.5, 9.0, 9.0)


def add_rulers(axes: Axes, names: tuple[str, str], pads: tuple[float, float] = (1.0, 1.0)) -> None:
    """Give a map rulers below and on the left.

    Parameters
    ----------
    axes : Axes
    names : (str, str)
        Across and up.
    pads : (float, float) [pt]
        Room between numbers and the two names.
    """
    add_ruler(axes, "below", names[0], pads[0])
    add_ruler(axes, "left", names[1], pads[1])


def add_grid(axes: Axes, names: tuple[str, str], *, numbers_below: bool = True) -> None:
    """Give a graph rulers below and on the left with a faint grid, and no line on its other sides.

    Parameters
    ----------
    axes : Axes
    names : (str, str)
        Across and up.
    numbers_below : bool
        Whether the ruler below has numbers; the lower of two graphs has them for both.
    """
    axes.spines[["top", "right"]].set_visible(False)
    add_ruler(axes, "below", names[0], PAD, OF_GRAPH, numbers=numbers_below, grid=True)
    add_ruler(axes, "left", names[1], PAD, OF_GRAPH, grid=True)


def add_ruler(  # noqa: PLR0913  # most have a default
    axes: Axes, side: Side, name: str, pad: float, sizes: Sizes = OF_MAP, *, numbers: bool = True, grid: bool = False
) -> None:
    """Give axes a ruler in place of the one that they have along this side.

    Parameters
    ----------
    axes : Axes
        Their locators and formatters tell where ticks are and what is written beside them.
    side : "below", "left" or "right"
    name : str
    pad : float [pt]
        Room between numbers and the name.
    sizes : Sizes
    numbers : bool
        Whether ticks have numbers.
    grid : bool
        Whether a line runs from each tick through the axes.
    """
    (axes.xaxis if side == "below" else axes.yaxis).set_visible(False)
    axes.add_artist(_Ruler(axes, side, name, pad, sizes, numbers=numbers, grid=grid))


def ruler_room(axes: Axes) -> float:
    """Return the room that the ruler on the left or right of a graph takes with its name [in].

    The axes show all that they will, on their final scale.
    """
    axis = axes.yaxis
    low, high = sorted(axes.get_ylim())
    places = [place for place in axis.get_majorticklocs() if low <= place <= high]
    widest = max((sum(map(_breadth, word)) for word in axis.get_major_formatter().format_ticks(places)), default=0.0)
    return (OF_GRAPH.tick + OF_GRAPH.room + widest * OF_GRAPH.number + PAD + LINE * OF_GRAPH.name) / 72.0


def _breadth(letter: str) -> float:
    """Return the width of a letter of a number over its height, on the safe side."""
    return 0.33 if letter in ".," else 0.85 if letter in "-−" else 0.64


class _Ruler(Artist):
    """One ruler of the axes that it is added to."""

    def __init__(  # noqa: PLR0913  # those of `add_ruler`
        self, axes: Axes, side: Side, name: str, pad: float, sizes: Sizes, *, numbers: bool, grid: bool
    ) -> None:
        super().__init__()
        self.set_zorder(0.5 if grid else 1.5)
        self._of = axes
        self._side, self._pad, self._sizes, self._numbers, self._grid = side, pad, sizes, numbers, grid
        self._column = 0 if side == "below" else 1
        here = IdentityTransform()
        across, up = {"below": ("center", "top"), "left": ("right", "center_baseline")}.get(
            side, ("left", "center_baseline")
        )
        self._number = Text(ha=across, va=up, fontsize=sizes.number, color=INK, transform=here)
        self._name = Text(text=name, ha="center", fontsize=sizes.name, color=INK, transform=here)
        self._name.set_verticalalignment("bottom" if side == "left" else "top")
        if side != "below":
            self._name.set(rotation="vertical", rotation_mode="anchor")

    @property
    def _point(self) -> float:
        """Size of a point [px], which a figure changes where it is saved."""
        return float(self._of.figure.dpi) / 72.0

    def draw(self, renderer: RendererBase) -> None:
        """Draw grid, ticks, numbers and name, the name clear of the widest number."""
        for text in (self._number, self._name):
            text.set_figure(self._of.figure)
        box, point = self._of.bbox, self._point
        outward = 1.0 if self._side == "right" else -1.0
        edge = {"below": box.y0, "left": box.x0, "right": box.x1}[self._side]
        places, words, small = self._ticks()
        if self._grid:
            self._draw_grid(renderer, places)
        self._draw_ticks(renderer, small, (edge, edge + outward * SMALL * point), THIN)
        end = edge + outward * self._sizes.tick * point
        self._draw_ticks(renderer, places, (edge, end), THICK)
        taken, before = [end], None
        for place, word in zip(places, words, strict=True):
            self._number.set_text(word)
            self._number.set_position(self._at(place, end + outward * self._sizes.room * point))
            box_of_number = self._number.get_window_extent(renderer)
            if before is not None and self._runs_into(box_of_number, before):
                continue
            taken.append(self._outermost(box_of_number))
            self._number.draw(renderer)
            before = box_of_number
        self._draw_factor(renderer, taken, outward * point)
        beyond = max(taken) if self._side == "right" else min(taken)
        middle = 0.5 * (box.min[self._column] + box.max[self._column])
        self._name.set_position(self._at(middle, beyond + outward * self._pad * point))
        self._name.draw(renderer)

    def _draw_factor(self, renderer: RendererBase, taken: list[float], outward: float) -> None:
        """Draw what all numbers are to be multiplied by, where that is not 1: at the end of the ruler."""
        axis = (self._of.xaxis, self._of.yaxis)[self._column]
        factor = axis.get_major_formatter().get_offset() if self._numbers else ""
        if not factor:
            return
        box, text = self._of.bbox, Text(text=factor, fontsize=FACTOR, color=INK, transform=IdentityTransform())
        text.set_figure(self._of.figure)
        if self._side == "below":
            text.set(position=(box.x1, min(taken) + APART * outward), ha="right", va="top")
        else:
            text.set(
                position=(box.x0 if self._side == "left" else box.x1, box.y1 + APART * abs(outward)), va="baseline"
            )
            text.set_horizontalalignment("left" if self._side == "left" else "right")
        text.draw(renderer)

    def _runs_into(self, number: Bbox, before: Bbox) -> bool:
        """Return whether a number would be drawn over the one before it; their boxes have room for descenders."""
        if self._column == 0:
            return bool(number.x0 < before.x1 and before.x0 < number.x1)
        room = DESCENDER * number.height
        return bool(number.y0 < before.y1 - room and before.y0 < number.y1 - room)

    def _at(self, along: float, beside: float) -> tuple[float, float]:
        return (along, beside) if self._column == 0 else (beside, along)

    def _outermost(self, box: Bbox) -> float:
        return float({"below": box.y0, "left": box.x0, "right": box.x1}[self._side])

    def _ticks(self) -> tuple[FloatArray, list[str], FloatArray]:
        """Return where ticks are, what is written beside them, and where small ticks are, all [px]."""
        axis = (self._of.xaxis, self._of.yaxis)[self._column]
        every = np.asarray(axis.get_majorticklocs(), dtype=np.float64)
        words = axis.get_major_formatter().format_ticks(every.tolist()) if self._numbers else []
        shown = self._within(every)
        small = np.asarray(axis.get_minorticklocs(), dtype=np.float64)
        kept = [word for word, seen in zip(words, shown, strict=self._numbers) if seen] if self._numbers else []
        return (
            self._placed(every[shown]),
            kept or [""] * int(shown.sum()),
            self._placed(small[self._within(small)]),
        )

    def _within(self, values: FloatArray) -> BoolArray:
        low, high = sorted(self._of.viewLim.get_points()[:, self._column].tolist())
        hair = 1e-9 * (high - low)
        within: BoolArray = (values >= low - hair) & (values <= high + hair)
        return within

    def _placed(self, values: FloatArray) -> FloatArray:
        points: FloatArray = np.tile(self._of.viewLim.get_points()[0], (len(values), 1))
        points[:, self._column] = values
        placed: FloatArray = self._of.transData.transform(points)[:, self._column]
        return placed

    def _draw_ticks(self, renderer: RendererBase, places: FloatArray, ends: tuple[float, float], thick: float) -> None:
        self._draw_lines(renderer, renderer.new_gc(), places, ends, (QUIET, thick))

    def _draw_grid(self, renderer: RendererBase, places: FloatArray) -> None:
        context, box = renderer.new_gc(), self._of.bbox
        context.set_clip_rectangle(box)
        self._draw_lines(
            renderer, context, places, (box.min[1 - self._column], box.max[1 - self._column]), (RULE, GRID)
        )

    def _draw_lines(
        self,
        renderer: RendererBase,
        context: GraphicsContextBase,
        places: FloatArray,
        ends: tuple[float, float],
        pen: tuple[str, float],
    ) -> None:
        """Draw all lines from one end to the other as one path."""
        if not len(places):
            return
        points = np.zeros((len(places), 2, 2))
        points[:, :, self._column] = places[:, None]
        points[:, :, 1 - self._column] = ends
        context.set_foreground(pen[0])
        context.set_linewidth(pen[1] * self._point)
        codes = np.tile([Path.MOVETO, Path.LINETO], len(places))
        renderer.draw_path(context, Path(points.reshape(-1, 2), codes), IdentityTransform())
        context.restore()
