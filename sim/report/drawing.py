"""The look of every figure, and how one becomes part of a page."""

import io
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure

INK = "#1d2b33"
QUIET = "#5b6b73"
RULE = "#c9d1d5"
WARN = "#b3361b"
SERIES = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00")
"""Hues that stay apart for colour-blind eyes: Okabe & Ito, Color Universal Design, 2008."""
MAP_COLOURS = "cividis"
LINES = ("-", "--", "-.", ":")
"""Of one line after the other, with the hues in turn: no two of the first twelve look alike."""
MOST_WITHIN = 3
"""Names that a legend within a graph has at most."""
HANDLE, LETTER, LEGEND_LINE = 0.6, 0.075, 0.21
"""Room in a legend for a line's sample and the gaps, for a letter, and from name to name [in]."""

_SETTINGS: Mapping[Any, Any] = {
    "font.family": "sans-serif",
    "font.size": 9.0,
    "axes.titlesize": 10.0,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.7,
    "text.color": INK,
    "xtick.color": QUIET,
    "ytick.color": QUIET,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "xtick.major.width": 0.7,
    "ytick.major.width": 0.7,
    "text.parse_math": False,  # a dollar sign in a name is a dollar sign
    "svg.fonttype": "none",  # text stays text, to be read aloud, searched and copied
    "svg.hashsalt": "vivray",  # equal results give equal bytes
}


@contextmanager
def figure_style() -> Iterator[None]:
    """Draw in the look of the report, whatever the user's own settings say."""
    with mpl.rc_context():
        # As `rcdefaults`, which first reads thirty files of styles.
        mpl.rcParams.update({name: value for name, value in mpl.rcParamsDefault.items() if name != "backend"})
        mpl.rcParams.update(_SETTINGS)
        yield


def with_margins(figure: Figure, left: float, right: float) -> None:
    """Leave room around the axes for words, at the sides as given [in]: told, not measured, which takes far longer."""
    width, height = figure.get_size_inches()
    figure.subplots_adjust(left / width, 0.45 / height, 1.0 - right / width, 1.0 - 0.05 / height)


def add_legend(figure: Figure, axes: Axes, title: str | None = None) -> None:
    """Tell what the lines of a graph stand for: within it, or above it where so many names would cover the lines.

    Call it when the margins are set; a figure whose legend stands above grows by that.
    """
    names = [str(name) for name in axes.get_legend_handles_labels()[1]]
    if len(names) <= MOST_WITHIN:
        axes.legend(frameon=False, title=title, title_fontsize=9)
        return
    width, height = figure.get_size_inches()
    room = width * (figure.subplotpars.right - figure.subplotpars.left)
    columns = min(len(names), max(1, int(room / (HANDLE + LETTER * max(map(len, names))))))
    grown = LEGEND_LINE * (-(-len(names) // columns) + (title is not None)) + 0.5 * LEGEND_LINE
    below, above = height * figure.subplotpars.bottom, height * (1.0 - figure.subplotpars.top)
    figure.set_size_inches(width, height + grown)
    figure.subplots_adjust(bottom=below / (height + grown), top=1.0 - (above + grown) / (height + grown))
    told = axes.legend(frameon=False, title=title, title_fontsize=9, ncols=columns, borderaxespad=0.3, alignment="left")
    told.set_loc("lower left")
    told.set_bbox_to_anchor((0.0, 1.0), axes.transAxes)


def plain_axes(axes: Axes) -> None:
    """Leave a graph's left and bottom line and a faint grid."""
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(visible=True, color=RULE, linewidth=0.5)
    axes.set_axisbelow(True)


def inline_svg(figure: Figure, name: str) -> str:
    """Return a figure as an ``<svg>`` element that can stand beside others in one page.

    Parameters
    ----------
    figure : Figure
    name : str
        Letters, digits and dashes; every id inside starts with it, since two elements must not share one.
    """
    buffer = io.StringIO()
    figure.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    text = buffer.getvalue()
    text = re.sub(r"<metadata>.*?</metadata>", "", text[text.index("<svg") :], flags=re.DOTALL)
    text = re.sub(r"<!--.*?-->", "", text, flags=re.DOTALL)
    text = re.sub(r'\bid="([^"]+)"', rf'id="{name}-\1"', text)
    text = re.sub(r'href="#([^"]+)"', rf'href="#{name}-\1"', text)
    text = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", text)
    # Matplotlib measures with its own wide letters; the page's letters are no wider on any system.
    text = re.sub(r"(font: [^;\"]*?px) [^;\"]*", r"\1 system-ui, 'Segoe UI', Roboto, 'DejaVu Sans', sans-serif", text)
    # Sized by the page; hidden from screen readers, which read the label of the frame around it.
    text = re.sub(r'(<svg[^>]*?) width="[^"]*"', r"\1", text, count=1)
    text = re.sub(r'(<svg[^>]*?) height="[^"]*"', r"\1", text, count=1)
    width = figure.get_figwidth()
    opening = f'<svg aria-hidden="true" focusable="false" style="max-width: {width:.4g}in"'
    return text.replace("<svg", opening, 1).strip()
