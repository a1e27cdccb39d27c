"""Ticks and the colour bar of maps: what the drawing library's own axes and bars would draw, at the same places."""

import re
from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from sim.report.colour_bar import add_colour_bar
from sim.report.drawing import MAP_COLOURS, QUIET, figure_style, inline_svg
from sim.report.ticks import add_ticks, numbered, round_numbers

STEPS = [1, 2, 5, 10]
NAMES = ("x, cm", "y, cm")
Placed = list[tuple[str, float, float]]


def placed(draw: Callable[[Axes], None]) -> tuple[Placed, Placed]:
    """Return the words of a figure with their places, and the marks with theirs."""
    with figure_style():
        figure = Figure(figsize=(5, 4))
        draw(figure.add_axes((0.2, 0.2, 0.6, 0.6)))
        svg = inline_svg(figure, "t")
    words = re.findall(
        r'<text [^>]*?(?:x="([-\d.]+)" y="([-\d.]+)"[^>]*|translate\(([-\d.]+) ([-\d.]+)\)[^>]*)>(.*?)<', svg
    )
    marks = re.findall(r'<use [^>]*?x="([-\d.]+)" y="([-\d.]+)"', svg)
    told = [(text, float(x or u), float(y or v)) for x, y, u, v, text in words]
    return sorted(told), sorted(("", float(x), float(y)) for x, y in marks)


def same(found: Placed, expected: Placed) -> None:
    assert [text for text, _, _ in found] == [text for text, _, _ in expected]
    np.testing.assert_allclose([at[1:] for at in found], [at[1:] for at in expected], atol=0.02)


@pytest.mark.parametrize(
    "ends",
    [((0.0, 120.0), (0.0, 60.0)), ((-3.5, 2.5), (0.2, 0.9)), ((80.0, 0.0), (12.25, 11.75)), ((99.5, 1234.0), (0, 7))],
    ids=["room", "below zero", "backwards", "large"],
)
def test_ticks_are_those_of_the_librarys_own_axes(ends: tuple[tuple[float, float], tuple[float, float]]) -> None:
    def bare(axes: Axes) -> None:
        axes.set_xlim(*ends[0])
        axes.set_ylim(*ends[1])

    def own(axes: Axes) -> None:
        bare(axes)
        across, up = (numbered(round_numbers(along, 6)) for along in ends)
        add_ticks(axes, across, up, NAMES)

    def theirs(axes: Axes) -> None:
        bare(axes)
        for axis, name in zip((axes.xaxis, axes.yaxis), NAMES, strict=True):
            axis.set_major_locator(MaxNLocator(nbins=6, steps=STEPS))
            axis.set_label_text(name)
            axis.labelpad = 1
        axes.tick_params(length=2.5, pad=2, labelsize=8)

    for found, expected in zip(placed(own), placed(theirs), strict=True):
        assert found
        same(found, expected)


@pytest.mark.parametrize("tip", [False, True])
def test_the_bar_is_that_of_the_library(tip: bool) -> None:
    values = [0.0, 0.5, 1.0, 2.0]

    def own(axes: Axes) -> None:
        figure = axes.figure
        assert isinstance(figure, Figure)
        axes.remove()
        numbers = {value / 2.0: f"{value:g}" for value in values}
        add_colour_bar(figure, (0.2, 0.2, 0.6, 0.1), np.linspace(0.0, 1.0, 256), numbers, "UV index", tip=tip)

    def theirs(axes: Axes) -> None:
        figure = axes.figure
        assert isinstance(figure, Figure)
        axes.set_position((0.2, 0.2, 0.6, 0.1))
        colours = ScalarMappable(Normalize(0.0, 2.0), MAP_COLOURS)
        extend = "max" if tip else "neither"
        bar = figure.colorbar(colours, cax=axes, orientation="horizontal", ticks=values, extend=extend)
        bar.ax.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
        bar.set_label("UV index", labelpad=2)
        bar.ax.tick_params(length=2.5, pad=2, color=QUIET, labelsize=8)

    for found, expected in zip(placed(own), placed(theirs), strict=True):
        assert len(found) >= len(values)
        same(found, expected)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ([], []),
        ([20.0], ["20"]),
        ([0.0, 0.25, 0.5], ["0.00", "0.25", "0.50"]),
        ([-2.0, 0.0, 2.0], ["\u22122", "0", "2"]),
        ([0.1 * 3, 0.4], ["0.3", "0.4"]),
    ],
)
def test_numbers_have_the_decimals_that_they_need(values: list[float], words: list[str]) -> None:
    assert list(numbered(values).values()) == words
