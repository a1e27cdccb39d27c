"""Options of commands that write a page: the unit of its lengths, and whether it has pictures."""

from collections.abc import Callable
from typing import Any

import click

from sim.report.lengths import UNITS

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

units_option: Decorator = click.option(
    "--units",
    type=click.Choice(list(UNITS)),
    default="metric",
    show_default=True,
    help="Show lengths in centimetres or in inches; files of numbers stay in SI units.",
)


def page_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options of a page with pictures."""
    pictures = click.option(
        "--no-pictures", is_flag=True, envvar="VIVRAY_NO_PICTURES", help="Draw no pictures in three dimensions."
    )
    return units_option(pictures(function))
