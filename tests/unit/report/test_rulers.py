"""Rulers show what matplotlib's own ticks would, in the same places."""

import re
from collections.abc import Callable

import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from sim.report.drawing import INK, QUIET, figure_style, inline_svg
from sim.report.rulers import OF_GRAPH, OF_MAP, Sizes, add_grid, add_ruler, add_rulers

CLOSE = 0.02
"""Places in a figure are written to a millionth; the two differ by how a line of text is centred [px]."""
Setting = Callable[[Axes], None]


def _plain(axes: Axes) -> None:
    axes.set(xlim=(0.0, 92.0), ylim=(3.0, 47.0))


def _backwards(axes: Axes) -> None:
    axes.set(xlim=(92.0, 0.0), ylim=(47.0, 3.0))


def _below_zero(axes: Axes) -> None:
    axes.set(xlim=(-0.35, 0.05), ylim=(-1200.0, 1200.0))


def _with_a_factor(axes: Axes) -> None:
    axes.set(xlim=(0.0, 3e-6), ylim=(0.0, 7e-7))


def _by_decades(axes: Axes) -> None:
    axes.set(xlim=(250.0, 400.0), yscale="log", ylim=(1e-4, 2.0))
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")


SETTINGS = (_plain, _backwards, _below_zero, _with_a_factor, _by_decades)


def _axes() -> tuple[Figure, Axes]:
    figure = Figure(figsize=(4.0, 3.0))
    return figure, figure.add_axes((0.2, 0.2, 0.6, 0.6))


def _texts(figure: Figure) -> list[tuple[str, float, float]]:
    """Return what is written in a figure and where, in the order of the words."""
    svg = inline_svg(figure, "x")
    found = re.findall(r'<text[^>]*? transform="(?:rotate|translate)\(([^)]*)\)[^>]*>([^<]*)</text>', svg)
    rows = [(words, *(float(part) for part in re.split(r"[ ,]+", place)[-2:])) for place, words in found]
    return sorted((words, round(x, 3), round(y, 3)) for words, x, y in rows)


def _same(ours: Figure, theirs: Figure) -> None:
    expected, found = _texts(theirs), _texts(ours)
    assert [words for words, *_ in expected] == [words for words, *_ in found]
    assert len(found) > 4
    for (_, *there), (_, *here) in zip(expected, found, strict=True):
        assert there == pytest.approx(here, abs=CLOSE)


@pytest.mark.parametrize("setting", SETTINGS)
@pytest.mark.parametrize("sizes", [OF_MAP, OF_GRAPH])
def test_below_and_left_as_matplotlib_has_them(setting: Setting, sizes: Sizes) -> None:
    with figure_style():
        theirs, axes = _axes()
        setting(axes)
        axes.set_xlabel("across, cm", labelpad=1.0)
        axes.set_ylabel("up, cm", labelpad=3.0)
        axes.tick_params(length=sizes.tick, pad=sizes.room, labelsize=sizes.number)
        ours, axes = _axes()
        setting(axes)
        if sizes is OF_MAP:
            add_rulers(axes, ("across, cm", "up, cm"), (1.0, 3.0))
        else:
            add_ruler(axes, "below", "across, cm", 1.0, sizes)
            add_ruler(axes, "left", "up, cm", 3.0, sizes)
        _same(ours, theirs)


@pytest.mark.parametrize("setting", SETTINGS)
def test_right_as_matplotlib_has_it(setting: Setting) -> None:
    with figure_style():
        theirs, axes = _axes()
        setting(axes)
        axes.yaxis.set_label_position("right")
        axes.yaxis.tick_right()
        axes.set_ylabel("lines, mW")
        axes.xaxis.set_visible(False)
        ours, axes = _axes()
        setting(axes)
        axes.xaxis.set_visible(False)
        add_ruler(axes, "right", "lines, mW", 4.0, OF_GRAPH)
        _same(ours, theirs)


def test_graph_has_a_line_of_its_grid_for_each_tick_and_numbers_where_they_are_asked_for() -> None:
    with figure_style():
        figure, axes = _axes()
        axes.set(xlim=(0.0, 10.0), ylim=(0.0, 4.0), xticks=[0.0, 5.0, 10.0], yticks=[0.0, 2.0, 4.0])
        add_grid(axes, ("", "up"), numbers_below=False)
        svg, texts = inline_svg(figure, "x"), _texts(figure)
    assert ["0", "2", "4", "up"] == [words for words, *_ in texts if words]
    lines = re.findall(r'<path d="([^"]*)"[^>]*stroke: #c9d1d5', svg)
    assert [3, 3] == [path.count("M") for path in lines]


def test_ink_of_numbers_and_of_ticks_is_that_of_the_page() -> None:
    with figure_style():
        figure, axes = _axes()
        _plain(axes)
        add_rulers(axes, ("across", "up"))
        svg = inline_svg(figure, "x")
    texts = re.findall(r'<text style="([^"]*)"', svg)
    assert {True} == {f"fill: {INK}" in style for style in texts}
    assert svg.count(f"stroke: {QUIET}; stroke-width: 0.7") >= 2


def test_numbers_that_would_run_into_each_other_are_left_out() -> None:
    with figure_style():
        figure = Figure(figsize=(4.0, 3.0))
        axes = figure.add_axes((0.4, 0.4, 0.06, 0.03))
        axes.set(xlim=(1000.0, 1006.0), ylim=(20.0, 21.0), xticks=(1001, 1002, 1003, 1004, 1005), yticks=(20, 20.5, 21))
        add_rulers(axes, ("x, in", "z, in"))
        assert [words for words, *_ in _texts(figure)] == ["1001", "20.0", "21.0", "x, in", "z, in"]
