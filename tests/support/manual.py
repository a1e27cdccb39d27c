"""The examples in manual pages: the indented TOML after a line that ends in two colons."""

import inspect
import re
import textwrap
import tomllib
from typing import Any


def examples(page: type) -> list[dict[str, Any]]:
    """Return what the examples in a class's docstring say; a blank line parts two of them."""
    blocks = re.findall(r"::\n\n((?: {4}.*\n|\n(?= {4}))+)", inspect.getdoc(page) + "\n")
    pieces = (piece for block in blocks for piece in textwrap.dedent(block).split("\n\n"))
    return [tomllib.loads(piece) for piece in pieces if piece.strip()]
