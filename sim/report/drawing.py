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
