"""``vivray view``: look at a result in three dimensions. Drawing is another program's work: this one only starts it."""

import os
import subprocess
import sys
from pathlib import Path

import click

_ROOT = Path(__file__).resolve().parents[2]


@click.command()
@click.argument("result", type=click.Path(path_type=Path))
@click.option("--picture", metavar="FILE.png", help="Make this picture; open no window.")
@click.option("--quantity", metavar="NAME", help="What to show: uvi (the default), uvb-320, previtamin-d3, ...")
@click.option("--camera", metavar="VIEW", help="Where to look from: corner (the default), front or top.")
@click.option("--size", metavar="WxH", help="Of the picture or window, in pixels; 1200x800 by default.")
def view(result: Path, **options: str | None) -> None:
    """Look at a RESULT, a result.npz that `run` wrote, in three dimensions.

    Opens a window to turn the model around in, or with --picture writes a picture, which needs no display.
    """
    given = [f"--{name}={value}" for name, value in options.items() if value is not None]
    before = os.environ.get("PYTHONPATH")
    path = os.pathsep.join([str(_ROOT), *([before] if before else [])])
    command = [sys.executable, "-m", "viewer", *given, "--", str(result)]
    child = subprocess.run(command, env=os.environ | {"PYTHONPATH": path}, check=False)
    click.get_current_context().exit(child.returncode if child.returncode >= 0 else 2)
