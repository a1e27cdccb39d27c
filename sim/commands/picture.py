"""``vivray picture``: a picture of a result, or a turn around it, without a display."""

from pathlib import Path

import click

from sim.commands.choosing import picture_options, selection_options
from sim.commands.cut import CutPlane
from sim.commands.drawing import Drawn, draw


@click.command(cls=Drawn)
@click.argument("result", type=click.Path(path_type=Path))
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), required=True, help="FILE.png; with --turn also FILE.gif."
)
@selection_options
@picture_options
@click.option("--cut", type=CutPlane(), metavar="AXIS=LENGTH", help='Cut the model open, as at "y=30 cm".')
@click.option("--field", is_flag=True, help="Draw lines and surfaces of equal value where grid sensors are.")
@click.option("--photons", type=click.IntRange(1, 1000), metavar="N", help="Draw the ways of N photons of each lamp.")
@click.option("--scene", type=click.Path(path_type=Path), help="The scene that was run, for --photons.")
@click.option("--turn", type=click.IntRange(2, 360), metavar="N", help="Turn once around the model, in N pictures.")
@click.option("--force", is_flag=True, help="Replace files that are there already.")
def picture(**given: object) -> None:
    """Make a picture of a RESULT, a result.npz that `run` wrote. It needs no display."""
    draw()
