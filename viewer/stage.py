"""A result set up for looking at: model, names of its sides, marks and labels, column beside it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pyvista as pv

from sim.analysis.selection import Part, Selection
from sim.report.cautions import SHORT
from sim.tally.result import FloatArray
from viewer.beside import PLAIN_COLOURS, add_column
from viewer.callouts import Box, Page, add_callouts
from viewer.cameras import ANGLE, Camera, Margins, View, camera_for
from viewer.cutting import Cut, cut_open
from viewer.flat import INK, PAPER, QUIET, add_text, wrapped
from viewer.layers import ERROR, VALUE, Layer, Role, is_wall, layers, mapped
from viewer.marks import add_zone_outlines, callouts_of
from viewer.scale import COLOURS, Scale, scale_for
from viewer.sides import add_sides

COLUMN = 0.22
"""Share of the picture's width that the column beside the model takes."""
MARGINS: Margins = (0.075, 0.05, 0.15, 0.15)
"""What stays free around the model for words: left, right, below, above."""

_HIDDEN_SIDE: dict[Role, Literal["front", "back"]] = {"back": "front", "wall": "back"}


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
    """

    camera: View | Camera = "corner"
    cut: Cut | None = None


def set_up(plotter: pv.Plotter, shown: Selection, look: Look, size: tuple[int, int]) -> Camera:
    """Fill a plotter that has two renderers, model and column, and return the camera.

    Parameters
    ----------
    plotter : pyvista.Plotter
    shown : Selection
    look : Look
    size : (int, int) [px]
        Of the whole picture.

    Raises
    ------
    KeyError
        If there is no weighting of the quantity's name.
    """
    whole = layers(shown)
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
    write_words(plotter.renderer, shown, look, size, letters)
    add_zone_outlines(plotter.renderer, shown)
    add_callouts(plotter.renderer, callouts_of(shown), camera, Page(part, letters, tuple(words)))
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


def add_model(plotter: pv.Plotter, shown: Sequence[Layer], scale: Scale | None, part: Part) -> None:
    """Add layers to the model's renderer; maps show the value or its standard error, in the colours of the scale."""
    for layer in shown:
        if layer.role == "map":
            assert scale is not None, "a map has a scale"
            _add_map(plotter, layer, scale, part)
    add_bodies(plotter, shown)


def add_bodies(plotter: pv.Plotter, shown: Iterable[Layer]) -> None:
    """Add what is no map: bodies, and screens and other covers as lines; parts that carry a map get an outline."""
    for layer in shown:
        if layer.role == "map":
            if not is_wall(layer.name):
                _outline(plotter, layer, QUIET, 1.0)
        elif layer.role in ("screen", "cover"):
            # Lines alone: a tint would change the colours of the maps behind it.
            _outline(plotter, layer, PLAIN_COLOURS[layer.role], 2.0)
            if layer.role == "screen":
                _weave(plotter, layer)
        else:
            _add_body(plotter, layer)


def _add_map(plotter: pv.Plotter, layer: Layer, scale: Scale, part: Part) -> None:
    plotter.add_mesh(
        layer.mesh,
        scalars=VALUE if part == "value" else ERROR,
        cmap=COLOURS,
        clim=(0.0, scale.ticks.top),
        lighting=False,
        culling="back",
        show_scalar_bar=False,
        copy_mesh=True,
    )


def _add_body(plotter: pv.Plotter, layer: Layer) -> None:
    culling = _HIDDEN_SIDE.get(layer.role)
    opacity = 0.35 if layer.role == "reflector" else 1.0
    colour = PLAIN_COLOURS[layer.role]
    plotter.add_mesh(layer.mesh, color=colour, culling=culling, opacity=opacity, ambient=0.35, diffuse=0.7)
    if layer.role == "reflector":
        _outline(plotter, layer, QUIET, 1.5)


def _weave(plotter: pv.Plotter, layer: Layer) -> None:
    """Draw a screen as a wide net; its wires are far too fine to be drawn one by one."""
    spans = np.ptp(np.asarray(layer.mesh.points), axis=0)
    step = max(0.02, float(spans.max()) / 24.0)
    low = np.asarray(layer.mesh.points).min(axis=0)
    nets = []
    for axis in np.flatnonzero(spans > 0.5 * step):
        for place in np.arange(low[axis] + step, low[axis] + spans[axis] - 0.5 * step, step):
            net = layer.mesh.slice(normal=np.eye(3)[axis], origin=place * np.eye(3)[axis])
            nets += [net] if net.n_cells else []
    if nets:
        add_lines(plotter, pv.merge(nets), PLAIN_COLOURS["screen"], 0.8)


def _outline(plotter: pv.Plotter, layer: Layer, colour: str, width: float) -> None:
    edges = layer.mesh.extract_feature_edges(30.0)
    if edges.n_cells:
        add_lines(plotter, edges, colour, width)


def add_lines(plotter: pv.Plotter, mesh: pv.DataSet, colour: str, width: float) -> None:
    """Add lines of a colour and a width [px] that are not hidden by the surfaces they lie on."""
    actor = plotter.add_mesh(mesh, color=colour, line_width=width, lighting=False)
    # A hair nearer to the eye than the surfaces that they bound, or they would come out dashed.
    actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor.mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0.0, -6.0)


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


def add_edges(plotter: pv.Plotter, room: FloatArray) -> None:
    """Draw the twelve edges of a box."""
    (x0, y0, z0), (x1, y1, z1) = room
    box = pv.Box((x0, x1, y0, y1, z0, z1)).extract_all_edges()
    add_lines(plotter, box, QUIET, 1.2)


def write_words(renderer: pv.Renderer, shown: Selection, look: Look, size: tuple[int, int], letters: int) -> None:
    """Write title and caution into the model's part of a picture."""
    width, result = (1.0 - COLUMN) * size[0], shown.result
    title = result.meta.title or result.meta.scene
    title = title if look.cut is None else f"{title}, {look.cut.words}"
    title = wrapped(title, 0.92 * width, letters + 6, 2)
    add_text(renderer, title, (0.025, 0.975), height=letters + 6, bold=True, up=1.0)
    caution = wrapped(SHORT, 0.95 * width, letters - 1, 3)
    add_text(renderer, caution, (0.025, 0.025), height=letters - 1, colour=QUIET)
