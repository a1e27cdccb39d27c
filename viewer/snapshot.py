"""Pictures of a result as PNG, one or a turn around it, drawn off the screen."""

import io
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pyvista as pv
from PIL import Image

from sim.analysis.selection import Selection
from sim.report.write import write_whole_bytes
from sim.tally.result import FloatArray
from viewer.cameras import Camera, orbit
from viewer.flat import PAPER, add_text
from viewer.layers import VALUE, Layer, layers
from viewer.scale import COLOURS
from viewer.stage import MARGINS, Look, aspect, new_plotter, points_of, set_up

LEAST = (640, 480)
"""Smallest picture in which every word has room [px]."""
FRAME_S = 0.1
"""Time that each picture of a turn stands [s]."""


class PictureExistsError(FileExistsError):
    """A picture that is there already; one line that says which and what to do."""


def picture(
    shown: Selection, path: Path, look: Look | None = None, size: tuple[int, int] = (1200, 800), *, force: bool = False
) -> Camera:
    """Write a picture of a result and return the camera that took it.

    Maps keep the colours of the colour bar, without light and shade; a wall that would be seen from behind is left
    out, so that one sees inside.

    Parameters
    ----------
    shown : Selection
    path : Path
        Of the PNG.
    look : Look, optional
        From the front right corner, if left out.
    size : (int, int) [px]
    force : bool
        Whether the file may be replaced.

    Raises
    ------
    KeyError
        If there is no weighting of the quantity's name.
    ValueError
        If the size is below `LEAST`.
    PictureExistsError
        If the file is there already, without `force`.
    OSError
        If the file cannot be written.
    """
    _free([path], force)
    taken, camera = _taken(shown, look or Look(), size)
    write_whole_bytes(path, png_of(taken))
    return camera


def pictures(shown: Selection, looks: Sequence[Look], size: tuple[int, int], plotter: pv.Plotter) -> list[bytes]:
    """Return pictures of a result from several sides as PNG files; see `picture`.

    Parameters
    ----------
    shown : Selection
    looks : sequence of Look
    size : (int, int) [px]
    plotter : pyvista.Plotter
        That draws them, see `warm_up`; it is closed in the end.
    """
    try:
        whole = layers(shown)
        drawn = []
        for look in looks:
            # The driver has ready for each picture what it prepared for the last: shaders, textures of letters.
            _empty(plotter, size)
            drawn.append(png_of(_drawn(plotter, shown, look, size, whole)[0]))
        return drawn
    finally:
        plotter.close()


def _empty(plotter: pv.Plotter, size: tuple[int, int]) -> None:
    """Take all out of a plotter but its lights."""
    plotter.suppress_rendering = True  # or it would draw with each thing that is added
    if tuple(plotter.window_size) != size:
        plotter.window_size = size
    for renderer in plotter.renderers:
        renderer.clear_actors()
        renderer.RemoveAllViewProps()


def turn(  # noqa: PLR0913  # two have a default
    shown: Selection, path: Path, look: Look, count: int, size: tuple[int, int] = (1200, 800), *, force: bool = False
) -> list[Path]:
    """Write pictures once around a model and return their paths: ``NAME-001.png`` and so on, or one animated GIF.

    Parameters
    ----------
    shown : Selection
    path : Path
        Ends in ``.png`` or ``.gif``.
    look : Look
        Its view is the first of the pictures.
    count : int
    size : (int, int) [px]
    force : bool
        Whether files may be replaced.

    Raises
    ------
    PictureExistsError, ValueError, OSError
        See `picture`.
    """
    animated = path.suffix.lower() == ".gif"
    digits = max(3, len(str(count)))
    each = [path.with_name(f"{path.stem}-{k + 1:0{digits}}{path.suffix}") for k in range(count)]
    paths = [path] if animated else each
    _free(paths, force)
    cameras = _around(shown, look, count, size)
    frames = (_taken(shown, replace(look, camera=camera), size)[0] for camera in cameras)
    if animated:
        write_whole_bytes(path, _gif(frames))
    else:
        for one, frame in zip(paths, frames, strict=True):
            write_whole_bytes(one, png_of(frame))
    return paths


def _around(shown: Selection, look: Look, count: int, size: tuple[int, int]) -> list[Camera]:
    points = points_of(layers(shown))
    if not isinstance(look.camera, Camera):
        return orbit(points, look.camera, aspect(size), MARGINS, count)
    pivot = 0.5 * (points.min(axis=0) + points.max(axis=0))
    return [look.camera.turned(2.0 * np.pi * k / count, pivot) for k in range(count)]


def warm_up() -> pv.Plotter:
    """Return a plotter that drew a ball and a letter: what the driver prepares at its first picture is done then."""
    plotter = new_plotter(LEAST, off_screen=True)
    plotter.subplot(0, 0)
    ball = pv.Sphere()
    ball.cell_data[VALUE] = np.linspace(0.0, 1.0, ball.n_cells)
    plotter.add_mesh(ball, scalars=VALUE, cmap=COLOURS, lighting=False, show_scalar_bar=False)
    plotter.add_mesh(ball, color=PAPER, opacity=0.35, ambient=0.35, diffuse=0.7)
    add_text(plotter.renderer, "a", (0.5, 0.5), height=12)
    plotter.screenshot(return_img=True)
    return plotter


def _taken(shown: Selection, look: Look, size: tuple[int, int]) -> tuple[FloatArray, Camera]:
    """Return a picture as rows of pixels from above, and its camera."""
    if size[0] < LEAST[0] or size[1] < LEAST[1]:
        raise ValueError(
            f"a picture of {size[0]} x {size[1]} is too small for its words; give at least {LEAST[0]} x {LEAST[1]}"
        )
    plotter = new_plotter(size, off_screen=True)
    try:
        return _drawn(plotter, shown, look, size)
    finally:
        plotter.close()


def _drawn(
    plotter: pv.Plotter, shown: Selection, look: Look, size: tuple[int, int], whole: Sequence[Layer] | None = None
) -> tuple[FloatArray, Camera]:
    """Return what an empty plotter draws as rows of pixels from above, and its camera."""
    camera = set_up(plotter, shown, look, size, whole)
    plotter.suppress_rendering = False
    plotter.render()
    return np.asarray(plotter.screenshot(return_img=True)), camera


def png_of(pixels: FloatArray) -> bytes:
    """Return rows of pixels from above as the content of a PNG file."""
    buffer = io.BytesIO()
    Image.fromarray(pixels).save(buffer, format="PNG")
    return buffer.getvalue()


def _gif(frames: Iterator[FloatArray]) -> bytes:
    first, *others = [Image.fromarray(frame).quantize(256) for frame in frames]
    buffer = io.BytesIO()
    first.save(
        buffer, format="GIF", save_all=True, append_images=others, duration=round(1000 * FRAME_S), loop=0, disposal=1
    )
    return buffer.getvalue()


def _free(paths: Sequence[Path], force: bool) -> None:
    there = [path for path in paths if path.exists()]
    if there and not force:
        raise PictureExistsError(f"{there[0]} is there already; name another file, or give --force to replace it")
