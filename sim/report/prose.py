"""Sentences whose lines never end between a number and its unit."""

import re
from collections.abc import Iterator

from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderResult
from rich.text import Text

NO_BREAK = "\u00a0"
_UNITS = (
    "%|[µm]?W(?:/(?:m²|cm²|nm))?|[µkcmn]?m[2²]?|in[2²]?|h|s|K|J|g|kg|lm|lx|cd|min|"
    "years?|hours?|minutes?|photons|histories|diameters|degrees|times"
)
_WITHIN = re.compile(rf"(?<=\d)[ \n](?=(?:{_UNITS})(?![\w/]))|(?<=\b[xyz])[ \n](?=-?\d)")


def unbroken(text: str) -> str:
    """Return text in which no line ends between a number and its unit, beside ``±``, or after x, y and z of a place."""
    return _WITHIN.sub(NO_BREAK, text).replace(" ± ", f"{NO_BREAK}±{NO_BREAK}")


class Prose:
    """A sentence in the terminal, in lines as wide as there is room for.

    Attributes
    ----------
    text : Text
    """

    def __init__(self, text: Text) -> None:
        self.text = text

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Yield its lines."""
        for line in self.text.divide(list(_breaks(self.text.plain, options.max_width))):
            line.rstrip()
            yield line


def _breaks(text: str, width: int) -> Iterator[int]:
    """Yield where lines begin after the first: the console breaks at any space, also at one that is marked."""
    start = 0
    for word in re.finditer(r"[^ ]+", unbroken(text)):
        if word.start() > start and cell_len(text[start : word.end()]) > width:
            start = word.start()
            yield start
