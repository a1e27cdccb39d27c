"""The plane that a model is cut open with."""

import click

from sim.units import LENGTH, parse_quantity

AXES = ("x", "y", "z")


class CutPlane(click.ParamType[tuple[int, float]]):
    """A plane across an axis: ``"y=30 cm"``."""

    name = "cut"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> tuple[int, float]:
        """Return the axis, 0 to 2, and the place along it [m]."""
        if isinstance(value, tuple):
            return value
        axis, equals, length = str(value).partition("=")
        if not equals or axis.strip() not in AXES:
            self.fail(f"'{value}' is no plane across an axis; write one such as \"y=30 cm\"", param, ctx)
        try:
            return AXES.index(axis.strip()), parse_quantity(length, LENGTH, "length", "30 cm")
        except ValueError as error:
            self.fail(str(error), param, ctx)
