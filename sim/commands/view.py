"""``vivray view``: look at a result in three dimensions. Drawing is another program's work: this one only starts it."""

from pathlib import Path

import click

from sim.commands.choosing import picture_options, selection_options
from sim.commands.drawing import Drawn, draw


@click.command(cls=Drawn)
@click.argument("result", type=click.Path(path_type=Path))
@selection_options
@picture_options
@click.option("--page", is_flag=True, help="Serve a page to a browser on this machine; open no window.")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Of the page; any that is free by default.")
def view(**given: object) -> None:
    """Look at a RESULT, a result.npz that `run` wrote, in three dimensions.

    Opens a window to turn the model around in, or with --page serves a page, which needs no display here.
    """
    draw()
