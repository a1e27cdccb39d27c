"""A picture of a result as PNG, drawn off the screen."""

import io
import os
from pathlib import Path

from sim.tally.result import Result
from viewer.cameras import Camera, View
from viewer.stage import new_plotter, set_up

LEAST = (640, 480)
"""Smallest picture in which every word has room [px]."""


def picture(
    result: Result, path: Path, quantity: str = "uvi", size: tuple[int, int] = (1200, 800), camera: View = "corner"
) -> Camera:
    """Write a picture of a result and return the camera that took it.

    Maps keep the colours of the colour bar, without light and shade; a wall that would be seen from behind is left
    out, so that one sees inside.

    Parameters
    ----------
    result : Result
    path : Path
        Of the PNG.
    quantity : str
        Name of a weighting.
    size : (int, int) [px]
    camera : View

    Raises
    ------
    KeyError
        If there is no weighting of that name.
    ValueError
        If the size is below `LEAST`.
    OSError
        If the file cannot be written.
    """
    if size[0] < LEAST[0] or size[1] < LEAST[1]:
        raise ValueError(
            f"a picture of {size[0]} x {size[1]} is too small for its words; give at least {LEAST[0]} x {LEAST[1]}"
        )
    plotter = new_plotter(size, off_screen=True)
    try:
        used = set_up(plotter, result, quantity, camera, size)
        buffer = io.BytesIO()
        plotter.screenshot(buffer)
    finally:
        plotter.close()
    partial = path.with_name(path.name + ".part")
    partial.write_bytes(buffer.getvalue())
    os.replace(partial, path)
    return used
