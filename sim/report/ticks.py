"""Ticks with numbers on the left and the lower side of a map, and the names of its two directions.

An axis of matplotlib makes five things for each tick and lays out all of them twice, which took most of the time of a
sheet with many maps. Maps have but one look of ticks.
"""

from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.ticker import MaxNLocator
from matplotlib.transforms import IdentityTransform

from sim.report.drawing import INK, QUIET
from sim.tally.result import FloatArray

LENGTH, APART, WIDTH = 2.5, 2.0, 0.7
"""Of a tick, from it to its number, and of its line [pt]."""
SIZE = 8.0
"""Of the numbers [pt]."""
NAME_APART = 1.0
"""From the numbers to the name of the direction [pt]."""
ROUND = 1e-10
"""A number this near to an end of the axis, over its length, is on it."""


def round_numbers(ends: tuple[float, float], most: int, steps: Sequence[float] = (1, 2, 5, 10)) -> list[float]:
    """Return numbers between two ends, in either order, as few more than `most` as round steps allow."""
    low, high = min(ends), max(ends)
    near = ROUND * (high - low)
    found = MaxNLocator(nbins=max(1, most), steps=list(steps)).tick_values(low, high)
    return [float(value) for value in found if low - near <= value <= high + near]


def numbered(values: Sequence[float]) -> dict[float, str]:
    """Return numbers with how they are written: as many decimals as it takes to tell all of them as they are."""
    if not values:
        return {}
    least = 1e-3 * ((max(values) - min(values)) or abs(values[0]) or 1.0)
    decimals = next((n for n in range(12) if all(abs(round(value, n) - value) <= least for value in values)), 12)
    return {value: f"{value:.{decimals}f}".replace("-", "\u2212") for value in values}


Side = Literal["center", "right"]


class Ticks(Artist):
    """Ticks of axes whose own are hidden; see `add_ticks`."""

    zorder = 2.5

    def __init__(self, across: dict[float, str], up: dict[float, str], names: tuple[str, str], below: float) -> None:
        super().__init__()
        self.across, self.up, self.names = across, up, names
        self._below = below
        self._number = Text(fontsize=SIZE)
        self._name = Text()

    def draw(self, renderer: Any) -> None:  # noqa: ANN401  # of many classes
        """Draw marks, numbers and names."""
        axes, figure = self.axes, self.get_figure()
        assert axes is not None, "it was added to axes"
        assert figure is not None, "its axes are in a figure"
        for words in (self._number, self._name):
            words.set_figure(figure)
        box, out = axes.bbox, renderer.points_to_pixels(LENGTH + APART)
        self._number.set_verticalalignment("baseline")
        letters = self._number_box(renderer)
        ascent, descent = letters.y1, -letters.y0
        x = axes.transData.transform([(value, 0.0) for value in self.across] or np.zeros((0, 2)))[:, 0]
        y = axes.transData.transform([(0.0, value) for value in self.up] or np.zeros((0, 2)))[:, 1]
        bottom, left = np.full(len(x), box.y0), np.full(len(y), box.x0)
        self._marks(renderer, np.stack([x, bottom], axis=1), (0.0, -LENGTH))
        self._marks(renderer, np.stack([left, y], axis=1), (-LENGTH, 0.0))
        self._numbers(renderer, list(self.across.values()), x, bottom - out - ascent, "center")
        # Digits stand on the line and have nothing under it: their own middle is at the tick.
        self._numbers(renderer, list(self.up.values()), left - out, y - 0.5 * ascent, "right")
        widest = max((self._width(renderer, text) for text in self.up.values()), default=0.0)
        apart = renderer.points_to_pixels(NAME_APART)
        under = box.y0 - (out + ascent + descent if self.across else 0.0) - renderer.points_to_pixels(self._below)
        beside = box.x0 - (out + widest if self.up else 0.0) - apart
        self._write(renderer, self.names[0], (0.5 * (box.x0 + box.x1), under), 0.0)
        self._write(renderer, self.names[1], (beside, 0.5 * (box.y0 + box.y1)), 90.0)

    def _number_box(self, renderer: Any) -> Any:  # noqa: ANN401  # a box of matplotlib's
        self._number.set_position((0.0, 0.0))
        self._number.set_text("0")
        return self._number.get_window_extent(renderer)

    def _width(self, renderer: Any, text: str) -> float:  # noqa: ANN401  # of many classes
        return float(renderer.get_text_width_height_descent(text, self._number.get_fontproperties(), ismath=False)[0])

    def _marks(self, renderer: Any, places: FloatArray, end: tuple[float, float]) -> None:  # noqa: ANN401
        if not len(places):
            return
        pen = renderer.new_gc()
        pen.set_foreground(QUIET)
        pen.set_linewidth(renderer.points_to_pixels(WIDTH))
        mark = Path([(0.0, 0.0), tuple(renderer.points_to_pixels(part) for part in end)])
        renderer.draw_markers(pen, mark, IdentityTransform(), Path(places), IdentityTransform())
        pen.restore()

    def _numbers(self, renderer: Any, texts: list[str], x: FloatArray, y: FloatArray, side: Side) -> None:  # noqa: ANN401
        pen = renderer.new_gc()
        pen.set_foreground(INK)
        font = self._number.get_fontproperties()
        self._number.set_horizontalalignment(side)
        height = renderer.get_canvas_width_height()[1]
        for text, across, up in zip(texts, x, y, strict=True):
            self._number.set_position((across, up))
            down = height - up if renderer.flipy() else up
            renderer.draw_text(pen, across, down, text, font, 0.0, ismath=False, mtext=self._number)
        pen.restore()

    def _write(self, renderer: Any, text: str, at: tuple[float, float], turned: float) -> None:  # noqa: ANN401
        if not text:
            return
        self._name.set_text(text)
        self._name.set_position(at)
        self._name.set(
            rotation=turned,
            rotation_mode="anchor",
            horizontalalignment="center",
            verticalalignment="bottom" if turned else "top",
        )
        self._name.draw(renderer)


def add_ticks(
    axes: Axes,
    across: dict[float, str],
    up: dict[float, str],
    names: tuple[str, str],
    *,
    below: float = NAME_APART,
) -> None:
    """Give axes ticks in place of their own.

    Parameters
    ----------
    axes : Axes
    across, up : dict of float to str
        Where the ticks are, and what is written there.
    names : (str, str)
        Of the two directions; none is written where it is empty.
    below : float [pt]
        From the numbers down to the name.
    """
    axes.xaxis.set_visible(False)
    axes.yaxis.set_visible(False)
    ticks = Ticks(across, up, names, below)
    axes.add_artist(ticks)
    ticks.set_clip_on(False)
