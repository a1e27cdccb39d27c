"""Two results as maps beside each other on one colour scale, and their difference where it is beyond its error."""

import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import CenteredNorm
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from sim.analysis.comparison import Comparison, Pair, beyond_error
from sim.analysis.coverage import reachable_groups
from sim.analysis.numbers import plain
from sim.report.cautions import SHORT
from sim.report.drawing import MAP_COLOURS, QUIET, figure_style
from sim.report.map_scale import MapScale, map_scale
from sim.report.panels import Panel, has_grid, laid_flat
from sim.tally.statistics import Estimate

DIFFERENCE_COLOURS = "PuOr_r"
"""Purple and orange about white, apart for colour-blind eyes: C. Brewer, ColorBrewer, 2002."""
HIDDEN = "#e3e6e8"
MOST_ROWS = 10
"""At most so many surfaces are drawn, those within reach first, then the brightest."""

_WIDTH, _GAP, _LEFT, _TOP, _BAR = 11.0, 0.55, 0.75, 1.05, 1.55
_TALLEST = 1.9
_NOTE = "difference below its error"


@dataclass(frozen=True)
class _Row:
    pair: Pair
    first: Panel
    second: Panel
    difference: Panel


def comparison_picture(compared: Comparison, names: tuple[str, str], kind: str) -> bytes:
    """Return the figure of a comparison as a file, ``"png"`` or ``"svg"``; see `comparison_figure`."""
    buffer = io.BytesIO()
    metadata = {"Date": None} if kind == "svg" else {"Software": None}
    with figure_style():
        comparison_figure(compared, names).savefig(buffer, format=kind, dpi=150, metadata=metadata)
    return buffer.getvalue()


def comparison_figure(compared: Comparison, names: tuple[str, str]) -> Figure:
    """Return a figure with a row a surface: the first result, the second, and second less first.

    Parameters
    ----------
    compared : Comparison
    names : (str, str)
        What the two results are called.
    """
    drawn, omitted = _chosen(compared)
    rows = [_row(compared, pair) for pair in drawn]
    reach = {group.name for group in reachable_groups(compared.first.result)}
    within = [panel for row in rows for panel in (row.first, row.second) if row.pair.name in reach]
    scale = map_scale(within, [panel for row in rows for panel in (row.first, row.second)])
    differences = [np.abs(row.difference.values[np.isfinite(row.difference.values)]) for row in rows]
    largest = max((float(part.max()) for part in differences if part.size), default=0.0)
    norm = CenteredNorm(halfrange=largest or scale.top)
    return _drawn(compared, names, rows, scale, norm, omitted)


def _chosen(compared: Comparison) -> tuple[list[Pair], int]:
    """Return the pairs that are drawn, and how many more there are."""
    order = {"reach": 0, "zone": 1, "sensor": 2, "surface": 3}
    found = [pair for pair in compared.pairs if has_grid(pair.first)]
    brightness = {id(pair): float(compared.means(pair)[0].mean) for pair in found}
    found.sort(key=lambda pair: (order[pair.first.kind], -brightness[id(pair)]))
    return found[:MOST_ROWS], len(found) - len(found[:MOST_ROWS])


def _row(compared: Comparison, pair: Pair) -> _Row:
    found = compared.difference(pair)
    seen = Estimate(np.where(beyond_error(found), found.mean, np.nan), found.se, found.replicates)
    sides = [
        laid_flat(shown.result, group, _part(shown.found, group.rows))
        for shown, group in ((compared.first, pair.first), (compared.second, pair.second))
    ]
    return _Row(pair, sides[0], sides[1], laid_flat(compared.first.result, pair.first, seen))


def _part(found: Estimate, rows: slice) -> Estimate:
    return Estimate(found.mean[rows], found.se[rows], found.replicates)


def _drawn(  # noqa: PLR0913, PLR0917  # what one figure is made of
    compared: Comparison,
    names: tuple[str, str],
    rows: Sequence[_Row],
    scale: MapScale,
    norm: CenteredNorm,
    omitted: int,
) -> Figure:
    column = (_WIDTH - 2 * _LEFT - 2 * _GAP) / 3
    # One scale for all, as large as the widest and the tallest panel allow.
    inches = min(column / max(row.first.size[0] for row in rows), _TALLEST / max(row.first.size[1] for row in rows))
    heights = [row.first.size[1] * inches + 0.62 for row in rows]
    height = _TOP + sum(heights) + _BAR
    figure = Figure(figsize=(_WIDTH, height))
    up = height - _TOP
    for row, tall in zip(rows, heights, strict=True):
        up -= tall
        for number, panel in enumerate((row.first, row.second, row.difference)):
            left = _LEFT + number * (column + _GAP)
            size = panel.size[0] * inches / _WIDTH, panel.size[1] * inches / height
            axes = figure.add_axes((left / _WIDTH, (up + 0.42) / height, *size))
            _map(axes, panel, inches, scale, norm if number == 2 else None)
            axes.set_title(f"{row.pair.first.kind} {panel.name}" if number == 0 else "", fontsize=9, loc="left")
    _heads(figure, compared, (*names, f"difference: {names[1]} less {names[0]}"), column, height)
    _bars(figure, compared, scale, norm, height)
    _foot(figure, compared, omitted, height)
    return figure


def _map(axes: Axes, panel: Panel, inches: float, scale: MapScale, norm: CenteredNorm | None) -> None:
    axes.set_facecolor(HIDDEN)
    if norm is not None:
        axes.patch.set_hatch("////")
        axes.patch.set_edgecolor(QUIET)
    axes.imshow(
        np.ma.masked_invalid(panel.values),
        origin="lower",
        extent=(*panel.across, *panel.up),
        cmap=MAP_COLOURS if norm is None else DIFFERENCE_COLOURS,
        norm=scale.norm if norm is None else norm,
        interpolation="none",
        aspect="auto",
    )
    axes.set_xlabel(f"{panel.axes[0]}, cm", labelpad=1, fontsize=8)
    axes.set_ylabel(f"{panel.axes[1]}, cm", labelpad=1, fontsize=8)
    axes.tick_params(length=2.5, pad=2, labelsize=7)
    for axis, length in zip((axes.xaxis, axes.yaxis), panel.size, strict=True):
        # Numbers take 0.35 inches each, side by side or over each other.
        axis.set_major_locator(MaxNLocator(nbins=max(1, int(length * inches / 0.35)), steps=[1, 2, 5, 10]))


def _heads(figure: Figure, compared: Comparison, heads: tuple[str, str, str], column: float, height: float) -> None:
    unit = f" [{compared.first.unit}]" if compared.first.unit else ""
    figure.text(
        _LEFT / _WIDTH, 1 - 0.18 / height, f"{compared.first.title}{unit}", fontsize=12, fontweight="bold", va="top"
    )
    for number, head in enumerate(heads):
        left = _LEFT + number * (column + _GAP)
        figure.text(left / _WIDTH, 1 - 0.55 / height, _short(head), fontsize=10, fontweight="bold", va="top")


def _short(text: str, most: int = 44) -> str:
    return text if len(text) <= most else f"{text[: most - 4]} ..."


def _bars(figure: Figure, compared: Comparison, scale: MapScale, norm: CenteredNorm, height: float) -> None:
    unit = f", {compared.first.unit}" if compared.first.unit else ""
    title = compared.first.title
    for left, colours, one, label in (
        (_LEFT, MAP_COLOURS, scale.norm, f"{title}{unit}"),
        (_LEFT + 4.0, DIFFERENCE_COLOURS, norm, f"difference{unit}"),
    ):
        axes = figure.add_axes((left / _WIDTH, 1.08 / height, 3.2 / _WIDTH, 0.14 / height))
        extend = "max" if colours == MAP_COLOURS and scale.cut else "neither"
        bar = figure.colorbar(ScalarMappable(one, colours), cax=axes, orientation="horizontal", extend=extend)
        bar.ax.xaxis.set_major_formatter(lambda value, _: plain(value))
        bar.ax.tick_params(length=2.5, pad=2, labelsize=8)
        bar.outline.set_linewidth(0.5)
        bar.set_label(label, labelpad=2)
    hidden = Patch(facecolor=HIDDEN, edgecolor=QUIET, hatch="////", label=_NOTE)
    at = ((_LEFT + 7.5) / _WIDTH, 1.15 / height)
    figure.legend(handles=[hidden], loc="center left", bbox_to_anchor=at, frameon=False, fontsize=8.5, borderpad=0)


def _foot(figure: Figure, compared: Comparison, omitted: int, height: float) -> None:
    lines = ["The error is half of the 95 % interval of the difference, cell by cell."]
    if omitted:
        lines[0] += f" {omitted} more surfaces are not drawn."
    if compared.left_out:
        lines[0] += f" Not in both: {_short(', '.join(compared.left_out), 70)}."
    figure.text(_LEFT / _WIDTH, 0.2 / height, "\n".join([*lines, SHORT]), fontsize=8, color=QUIET, va="bottom")
