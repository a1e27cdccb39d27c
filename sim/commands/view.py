"""``vivray view``: look at a result in three dimensions. Drawing is another program's work: this one only starts it."""

from pathlib import Path

import click

from sim.commands.choosing import picture_options, selection_options
from sim.commands.drawing import Drawn, draw


@click.command(cls=Drawn)
@click.argument("result", type=click.Path(path_type=Path))
@selection_options
@picture_options
def view(**given: object) -> None:
    """Look at a RESULT, a result.npz that `run` wrote, in three dimensions: a window to turn the model around in."""
    draw()
