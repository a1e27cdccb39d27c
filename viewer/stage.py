"""A result set up for looking at: model, names of its sides, marks and labels, column beside it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import pyvista as pv

from sim.analysis.selection import Selection
from sim.report.cautions import SHORT
from sim.tally.result import FloatArray
from viewer.beside import add_column
from viewer.bodies import add_edges, add_field, add_lines, add_model, add_ways
from viewer.callouts import Box, Page, add_roomy_callouts, text_size
from viewer.cameras import ANGLE, Camera, Margins, View, camera_for
from viewer.cutting import Cut, cut_open
from viewer.flat import INK, PAPER, QUIET, add_text, wrapped
from viewer.layers import Layer, is_wall, layers, mapped
from viewer.marks import add_zone_outlines, callouts_of
from viewer.scale import scale_for
from viewer.sides import add_sides

COLUMN = 0.22
"""Share of the picture's width that the column beside the model takes."""
MARGINS: Margins = (0.075, 0.05, 0.15, 0.15)
"""What stays free around the model for words: left, right, below, above."""


def new_plotter(size: tuple[int, int], off_screen: bool) -> pv.Plotter:
    """Return an empty plotter of a size [px] with two renderers: model and column."""
    return pv.Plotter(
        off_screen=off_screen,
        shape=(1, 2),
        col_weights=[round(100 * (1.0 - COLUMN)), round(100 * COLUMN)],
        border=False,
        window_size=list(size),
        title="vivray",
    )


@dataclass(frozen=True)
class Look:
    """How a model is looked at.

    Attributes
    ----------
    camera : View or Camera
        A named view, placed so that all is seen, or a camera as it stands.
    cut : Cut, optional
    field : bool
        Whether lines and surfaces of equal value are drawn where grid sensors are, see `viewer.field`.
    ways : tuple of (n, 3) float [m]
        Photons' ways to be drawn, from the lamp to the end.
    """

    camera: View | Camera = "corner"
    cut: Cut | None = None
    field: bool = False
    ways: tuple[FloatArray, ...] = ()


def set_up(
    plotter: pv.Plotter, shown: Selection, look: Look, size: tuple[int, int], whole: Sequence[Layer] | None = None
) -> Camera:
    """Fill a plotter that has two renderers, model and column, and return the camera.

    Parameters
    ----------
    plotter : pyvista.Plotter
    shown : Selection
    look : Look
    size : (int, int) [px]
        Of the whole picture.
    whole : sequence of Layer, optional
        All that there is to draw, where it is there already.

    Raises
    ------
    KeyError
        If there is no weighting of the quantity's name.
    """
    whole = layers(shown) if whole is None else whole
    camera = camera_of(look, whole, size)
    scale = scale_for(shown) if mapped(shown.result) else None
    plotter.subplot(0, 0)
    visible, lines = (whole, pv.PolyData()) if look.cut is None else cut_open(whole, look.cut, camera)
    add_model(plotter, visible, scale, shown.part)
    if lines.n_cells:
        add_lines(plotter, lines, INK, 3.0)
    stand(plotter, camera)
    letters, part = type_height(size), model_size(size)
    room = room_of(whole)
    words: list[Box] = []
    if room is not None:
        add_edges(plotter, room)
        words = add_sides(plotter.renderer, room, camera, part, letters)
    words.append(_write_title(plotter.renderer, shown, look, size, letters))
    add_zone_outlines(plotter.renderer, shown)
    add_ways(plotter, look.ways)
    labels = callouts_of(shown)
    if look.field and scale is not None:
        labels += add_field(plotter, shown, scale)
    without = add_roomy_callouts(plotter.renderer, labels, camera, Page(part, letters, tuple(words)))
    _write_caution(plotter.renderer, size, letters, without)
    plotter.subplot(0, 1)
    add_column(plotter.renderer, scale, visible, (size[0] - part[0], size[1]), letters)
    for renderer in plotter.renderers:
        renderer.background_color = PAPER
    plotter.subplot(0, 0)
    return camera


def camera_of(look: Look, shown: Sequence[Layer], size: tuple[int, int]) -> Camera:
    """Return the camera of a look at some layers, in a picture of a size [px]."""
    if isinstance(look.camera, Camera):
        return look.camera
    return camera_for(points_of(shown), look.camera, aspect(size), MARGINS)


def points_of(shown: Iterable[Layer]) -> FloatArray:
    """Return all points of some layers, (n, 3) [m]."""
    return np.concatenate([np.zeros((0, 3)), *(np.asarray(layer.mesh.points, dtype=float) for layer in shown)])


def model_size(size: tuple[int, int]) -> tuple[int, int]:
    """Return width and height [px] of the model's part of a picture."""
    return round((1.0 - COLUMN) * size[0]), size[1]


def aspect(size: tuple[int, int]) -> float:
    """Return width over height of the model's part of a picture."""
    return (1.0 - COLUMN) * size[0] / size[1]


def type_height(size: tuple[int, int]) -> int:
    """Return the height [px] of the common type in a picture."""
    return round(min(size[1] / 55, size[0] / 82))


def stand(plotter: pv.Plotter, camera: Camera) -> None:
    """Put the eye of the current renderer where a camera is."""
    plotter.camera.view_angle = ANGLE
    plotter.camera_position = [tuple(camera.eye), tuple(camera.focus), tuple(camera.up)]
    plotter.renderer.reset_camera_clipping_range()


def room_of(shown: Iterable[Layer]) -> FloatArray | None:
    """Return the lowest and highest corner of the enclosure, (2, 3) [m], or None in free space."""
    walls = [np.asarray(layer.mesh.points) for layer in shown if is_wall(layer.name)]
    if not walls:
        return None
    points = np.concatenate(walls)
    return np.array([points.min(axis=0), points.max(axis=0)], dtype=float)


def write_words(renderer: pv.Renderer, shown: Selection, look: Look, size: tuple[int, int], letters: int) -> None:
    """Write title and caution into the model's part of a picture."""
    _write_title(renderer, shown, look, size, letters)
    _write_caution(renderer, size, letters)


def _write_title(renderer: pv.Renderer, shown: Selection, look: Look, size: tuple[int, int], letters: int) -> Box:
    """Write the title and return where it stands [px]."""
    width, result = (1.0 - COLUMN) * size[0], shown.result
    title = result.meta.title or result.meta.scene
    title = title if look.cut is None else f"{title}, {look.cut.words}"
    title = f"{title}, ways of single photons" if look.ways else title
    title = wrapped(title, 0.92 * width, letters + 6, 2)
    add_text(renderer, title, (0.025, 0.975), height=letters + 6, bold=True, up=1.0)
    across, up = text_size(title, letters + 6)
    return Box(0.025 * width, 0.975 * size[1] - up, 0.025 * width + across, 0.975 * size[1])


def _write_caution(renderer: pv.Renderer, size: tuple[int, int], letters: int, without: int = 0) -> None:
    """Write the caution, and how many labels found no room."""
    left_out = f"{without} label{'s have' if without > 1 else ' has'} no room here. " if without else ""
    caution = wrapped(left_out + SHORT, 0.95 * (1.0 - COLUMN) * size[0], letters - 1, 4)
    add_text(renderer, caution, (0.025, 0.025), height=letters - 1, colour=QUIET)
