"""The column beside the model: colour bar with title and unit, and what the plain colours mean."""

from collections.abc import Sequence

import numpy as np
import pyvista as pv

from sim.analysis.numbers import plain
from viewer.flat import INK, QUIET, add_line, add_rectangles, add_text, wrapped
from viewer.layers import Layer, Role
from viewer.scale import Scale

PLAIN_COLOURS: dict[Role, str] = {
    "lamp": "#d55e00",
    "reflector": "#a9b4ba",
    "screen": "#56b4e9",
    "cover": "#2f7fb5",
    "thing": "#b9a48a",
    "back": "#d9d4cc",
    "wall": "#e4e7e9",
}
WORDS: dict[Role, str] = {
    "lamp": "lamp",
    "reflector": "reflector",
    "screen": "screen of mesh",
    "cover": "pane or other cover",
    "thing": "body without a map",
    "back": "side that is not read",
    "wall": "wall without a map",
}
_HIGH = 0.86
_LEFT, _RIGHT = 0.10, 0.24


def add_column(  # noqa: PLR0913  # the last has a default and is a keyword
    renderer: pv.Renderer,
    scale: Scale | None,
    shown: Sequence[Layer],
    size: tuple[int, int],
    letters: int,
    *,
    low: float = 0.42,
) -> None:
    """Fill the column.

    Parameters
    ----------
    renderer : pyvista.Renderer
        Of the column alone.
    scale : Scale, optional
        None where nothing is mapped.
    shown : sequence of Layer
    size : (int, int) [px]
        Of the column.
    letters : int [px]
        Height of the type.
    low : float
        Lower end of the colour bar, as a share of the height.
    """
    if scale is None:
        text = "No surface of this scene is mapped."
        add_text(renderer, wrapped(text, 0.85 * size[0], letters, 4), (_LEFT, 0.95), height=letters, up=1.0)
    else:
        _titles(renderer, scale, size, letters)
        _bar(renderer, scale, letters, low)
        _notes(renderer, scale, size, letters, low)
    _legend(renderer, shown, size, letters)


def _swatch(renderer: pv.Renderer, role: Role, box: tuple[float, float, float, float]) -> None:
    """Draw what a role looks like: what is drawn as lines in the model is drawn as lines here."""
    left, low, right, high = box
    if role not in ("screen", "cover"):
        add_rectangles(renderer, np.array([box]), np.array([pv.Color(PLAIN_COLOURS[role]).float_rgb]))
        return
    colour = PLAIN_COLOURS[role]
    add_line(renderer, [(left, low), (right, low), (right, high), (left, high), (left, low)], colour, 2.0)
    for share in (1 / 3, 2 / 3) if role == "screen" else ():
        across, up = left + share * (right - left), low + share * (high - low)
        add_line(renderer, [(across, low), (across, high)], colour)
        add_line(renderer, [(left, up), (right, up)], colour)


def _titles(renderer: pv.Renderer, scale: Scale, size: tuple[int, int], letters: int) -> None:
    title = wrapped(scale.title, 0.82 * size[0], letters + 2, 3)
    above = _HIGH + 1.3 * letters / size[1]
    add_text(renderer, scale.unit or "no unit", (_LEFT, above), height=letters, colour=QUIET)
    add_text(renderer, title, (_LEFT, above + 1.5 * letters / size[1]), height=letters + 2, bold=True)


def _bar(renderer: pv.Renderer, scale: Scale, letters: int, low: float) -> None:
    table = scale.table
    edges = np.linspace(low, _HIGH, table.n_values + 1)
    # Each strip reaches to the top, so that no gap shows where two of them meet.
    strips = np.array([(_LEFT, edge, _RIGHT, _HIGH) for edge in edges[:-1]])
    add_rectangles(renderer, strips, table.values[:, :3] / 255.0)
    outline = [(_LEFT, low), (_RIGHT, low), (_RIGHT, _HIGH), (_LEFT, _HIGH), (_LEFT, low)]
    add_line(renderer, outline, QUIET)
    for value in (0.0, *scale.ticks.levels, scale.ticks.top):
        up = low + (_HIGH - low) * value / scale.ticks.top
        add_line(renderer, [(_RIGHT, up), (_RIGHT + 0.03, up)], QUIET)
        cut = scale.ticks.cut and value == scale.ticks.top
        add_text(renderer, plain(value) + (" or more" if cut else ""), (_RIGHT + 0.06, up), height=letters, up=0.5)


def _notes(renderer: pv.Renderer, scale: Scale, size: tuple[int, int], letters: int, low: float) -> None:
    text = f"half of the cells have a standard error below {plain(float(f'{scale.typical_error:.2g}'))}"
    text = f"highest cell {plain(scale.ticks.highest)}; {text}" if scale.ticks.cut else text
    text = f"{scale.lamps}; {text}" if scale.lamps else text
    height = letters - 1
    lines = wrapped(text, 0.85 * size[0], height, 6)
    add_text(renderer, lines, (_LEFT, low - 0.03), height=height, colour=QUIET, up=1.0)


def _legend(renderer: pv.Renderer, shown: Sequence[Layer], size: tuple[int, int], letters: int) -> None:
    # The sides of a closed body, named after it with a dot, have backs that nobody sees.
    roles = {layer.role for layer in shown if layer.role != "back" or "." not in layer.name}
    rows = [role for role in PLAIN_COLOURS if role in roles]
    step, side = 1.7 * letters / size[1], letters / size[1]
    for row, role in enumerate(reversed(rows)):
        low = 0.04 + row * step
        box = (_LEFT, low, _LEFT + side * size[1] / size[0], low + side)
        _swatch(renderer, role, box)
        add_text(renderer, WORDS[role], (box[2] + 0.05, low + 0.5 * side), height=letters, colour=INK, up=0.5)
