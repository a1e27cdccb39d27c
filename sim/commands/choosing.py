"""Options that commands share: which numbers of a result are looked at, from where, and how large."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sim.spectra.weighting import WEIGHTINGS

if TYPE_CHECKING:
    from sim.analysis.selection import Selection
    from sim.tally.result import Result

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]
VIEWS = ("corner", "front", "back", "left", "right", "top", "below")


class Level(click.ParamType[tuple[str, float]]):
    """A lamp's name and its level: ``tube=70%`` or ``tube=0.7``."""

    name = "level"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> tuple[str, float]:
        """Return name and factor."""
        if isinstance(value, tuple):
            return value
        lamp, equals, number = str(value).rpartition("=")
        percent = number.strip().endswith("%")
        try:
            factor = float(number.strip().removesuffix("%"))
        except ValueError:
            factor = -1.0
        if not equals or not 0.0 <= factor < float("inf"):
            self.fail(f"'{value}' is not a lamp with its level; write one such as tube=70%", param, ctx)
        if factor > 1.0 and not percent:
            self.fail(
                f"'{value}' is {factor:g} times its light; if you mean that, write {lamp}={100.0 * factor:g}%, "
                f"else {lamp}={factor:g}%",
                param,
                ctx,
            )
        return lamp.strip(), factor / 100.0 if percent else factor


class Size(click.ParamType[tuple[int, int]]):
    """Width and height in pixels: ``1200x800``."""

    name = "size"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> tuple[int, int]:
        """Return width and height [px]."""
        if isinstance(value, tuple):
            return value
        width, _, height = str(value).lower().replace("×", "x").partition("x")
        if not (width.strip().isdecimal() and height.strip().isdecimal()):
            self.fail(f"'{value}' is not a size in pixels; write one such as 1200x800", param, ctx)
        return int(width), int(height)


class Viewpoint(click.ParamType[str | Path]):
    """A named view, or a file that a window saved its camera to."""

    name = "view"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> str | Path:
        """Return a name or a path."""
        if isinstance(value, Path) or value in VIEWS:
            return value if isinstance(value, Path) else str(value)
        path = Path(str(value))
        if path.suffix.lower() != ".json":
            self.fail(f"'{value}' is not one of {', '.join(VIEWS)}, nor a camera's FILE.json", param, ctx)
        return path


def _all(*options: Decorator) -> Decorator:
    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        for option in reversed(options):
            function = option(function)
        return function

    return decorate


selection_options = _all(
    click.option(
        "--quantity", type=click.Choice(list(WEIGHTINGS)), default="uvi", show_default=True, help="What to show."
    ),
    click.option("--standard-error", is_flag=True, help="Show its standard error instead of its value."),
    click.option("--lamp", metavar="NAME", help="Show the light of this lamp alone."),
    click.option(
        "--level",
        "levels",
        type=Level(),
        multiple=True,
        metavar="NAME=PERCENT",
        help="Dim or age a lamp, as in tube=70%; may be given once a lamp.",
    ),
)
"""Which numbers: quantity, value or error, lamps."""

picture_options = _all(
    click.option(
        "--camera",
        type=Viewpoint(),
        default="corner",
        show_default=True,
        metavar="VIEW",
        help=f"Where to look from: {', '.join(VIEWS)}, or FILE.json as the window saves it.",
    ),
    click.option("--size", type=Size(), default="1200x800", show_default=True, metavar="WxH", help="In pixels."),
)
"""From where, and how large."""


def chosen(
    result: "Result",
    quantity: str = "uvi",
    standard_error: bool = False,
    lamp: str | None = None,
    levels: tuple[tuple[str, float], ...] = (),
) -> "Selection":
    """Return what the options of `selection_options` choose of a result.

    Raises
    ------
    LevelError
        If a lamp is none of the result's.
    """
    from sim.analysis.dimming import lamp_levels
    from sim.analysis.selection import Selection

    changed = lamp_levels(result, dict(levels), lamp) if levels or lamp is not None else None
    factors = None if changed is None else tuple(float(factor) for factor in changed)
    return Selection(result, quantity, factors, "error" if standard_error else "value")
