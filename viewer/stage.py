"""A result set up for looking at: model, names of its sides, pin on the brightest place, column beside it."""

from collections.abc import Iterable, Sequence
from typing import Literal

import numpy as np
import pyvista as pv

from sim.analysis.coverage import reachable_groups
from sim.analysis.extremes import highest_place
from sim.analysis.maps import Maps
from sim.analysis.numbers import with_error
from sim.report.cautions import SHORT
from sim.tally.result import FloatArray, Result
from viewer.beside import PLAIN_COLOURS, add_column
from viewer.cameras import ANGLE, Camera, View, camera_for
from viewer.flat import INK, PAPER, QUIET, add_dot, add_line, add_text, wrapped
from viewer.layers import VALUE, Layer, Role, is_wall, layers, mapped
from viewer.scale import COLOURS, Scale, scale_for, unit_of

COLUMN = 0.22
"""Share of the picture's width that the column beside the model takes."""
MARGINS = (0.075, 0.05, 0.15, 0.15)
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


def set_up(plotter: pv.Plotter, result: Result, quantity: str, view: View, size: tuple[int, int]) -> Camera:
    """Fill a plotter that has two renderers, model and column, and return the camera.

    Parameters
    ----------
    plotter : pyvista.Plotter
    result : Result
    quantity : str
        Name of a weighting.
    view : View
    size : (int, int) [px]
        Of the whole picture.

    Raises
    ------
    KeyError
        If there is no weighting of that name.
    """
    shown = layers(result, quantity)
    scale = scale_for(result, quantity) if mapped(result) else None
    plotter.subplot(0, 0)
    for layer in shown:
        _draw(plotter, layer, scale)
    room = _room(shown)
    points = np.concatenate([np.zeros((0, 3)), *(np.asarray(layer.mesh.points, dtype=float) for layer in shown)])
    camera = camera_for(points, view, aspect(size), MARGINS)
    _look(plotter, camera)
    letters = type_height(size)
    if room is not None:
        _edges(plotter, room)
        _sides(plotter.renderer, room, camera, view, (letters, camera.length_of_pixel(size[1])))
    _words(plotter.renderer, result, size, letters)
    _pin(plotter.renderer, result, quantity, camera, size)
    plotter.subplot(0, 1)
    add_column(plotter.renderer, scale, shown, (round(COLUMN * size[0]), size[1]), letters)
    for renderer in plotter.renderers:
        renderer.background_color = PAPER
    plotter.subplot(0, 0)
    return camera


def aspect(size: tuple[int, int]) -> float:
    """Return width over height of the model's part of a picture."""
    return (1.0 - COLUMN) * size[0] / size[1]


def type_height(size: tuple[int, int]) -> int:
    """Return the height [px] of the common type in a picture."""
    return round(min(size[1] / 55, size[0] / 82))


def _draw(plotter: pv.Plotter, layer: Layer, scale: Scale | None) -> None:
    if layer.role == "map":
        assert scale is not None, "a map has a scale"
        plotter.add_mesh(
            layer.mesh,
            scalars=VALUE,
            cmap=COLOURS,
            clim=(0.0, scale.ticks.top),
            lighting=False,
            culling="back",
            show_scalar_bar=False,
            copy_mesh=True,
        )
        if not is_wall(layer.name):
            _outline(plotter, layer, QUIET, 1.0)
        return
    colour = PLAIN_COLOURS[layer.role]
    if layer.role == "cover":
        # Its outline alone: a tint would change the colours of the maps behind it.
        _outline(plotter, layer, colour, 2.0)
        return
    culling = _HIDDEN_SIDE.get(layer.role)
    opacity = 0.35 if layer.role == "reflector" else 1.0
    plotter.add_mesh(layer.mesh, color=colour, culling=culling, opacity=opacity, ambient=0.35, diffuse=0.7)
    if layer.role == "reflector":
        _outline(plotter, layer, QUIET, 1.5)


def _outline(plotter: pv.Plotter, layer: Layer, colour: str, width: float) -> None:
    edges = layer.mesh.extract_feature_edges(30.0)
    if edges.n_cells:
        _lines(plotter, edges, colour, width)


def _lines(plotter: pv.Plotter, mesh: pv.PolyData, colour: str, width: float) -> None:
    actor = plotter.add_mesh(mesh, color=colour, line_width=width, lighting=False)
    # A hair nearer to the eye than the surfaces that they bound, or they would come out dashed.
    actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor.mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0.0, -6.0)


def _look(plotter: pv.Plotter, camera: Camera) -> None:
    plotter.camera.view_angle = ANGLE
    plotter.camera_position = [tuple(camera.eye), tuple(camera.focus), tuple(camera.up)]
    plotter.renderer.reset_camera_clipping_range()


def _room(shown: Iterable[Layer]) -> FloatArray | None:
    """Return the lowest and highest corner of the enclosure, (2, 3) [m], or None in free space."""
    walls = [np.asarray(layer.mesh.points) for layer in shown if is_wall(layer.name)]
    if not walls:
        return None
    points = np.concatenate(walls)
    return np.array([points.min(axis=0), points.max(axis=0)], dtype=float)


def _edges(plotter: pv.Plotter, room: FloatArray) -> None:
    (x0, y0, z0), (x1, y1, z1) = room
    box = pv.Box((x0, x1, y0, y1, z0, z1)).extract_all_edges()
    _lines(plotter, box, QUIET, 1.2)


def _sides(renderer: pv.Renderer, room: FloatArray, camera: Camera, view: View, type_size: tuple[int, float]) -> None:
    """Write the names and lengths of the sides along the nearest edges; height of the type in px, and a px in m."""
    letters, pixel = type_size
    low, high = room
    x, y, z = 0.5 * (low + high)
    size = [f"{100.0 * length:.4g} cm" for length in high - low]
    places: list[tuple[str, Sequence[float], float, float]] = [(f"front, {size[0]}", (x, low[1], low[2]), 0.5, 1.0)]
    if view == "corner":
        # The two lower edges fall and rise across the picture: words hang off them on their free sides.
        places[0] = (places[0][0], places[0][1], 1.0, 1.0)
        places.append((f"right, {size[1]}", (high[0], y, low[2]), 0.0, 1.0))
        places.append((size[2], (low[0], low[1], z), 1.0, 0.5))
    elif view == "front":
        places.append((size[2], (low[0], low[1], z), 1.0, 0.5))
    else:
        places[0] = (f"front, {size[0]}", (x, low[1], high[2]), 0.5, 1.0)
        places.append((size[1], (low[0], y, high[2]), 1.0, 0.5))
    for text, at, across, up in places:
        away = (0.5 - across) * camera.right + (0.5 - up) * camera.up
        place = np.array(at) + letters * pixel * away
        add_text(renderer, text, place, height=letters, colour=QUIET, across=across, up=up)


def _words(renderer: pv.Renderer, result: Result, size: tuple[int, int], letters: int) -> None:
    width = (1.0 - COLUMN) * size[0]
    title = wrapped(result.meta.title or result.meta.scene, 0.92 * width, letters + 6, 2)
    add_text(renderer, title, (0.025, 0.975), height=letters + 6, bold=True, up=1.0)
    caution = wrapped(SHORT, 0.95 * width, letters - 1, 3)
    add_text(renderer, caution, (0.025, 0.025), height=letters - 1, colour=QUIET)


def _pin(renderer: pv.Renderer, result: Result, quantity: str, camera: Camera, size: tuple[int, int]) -> None:
    """Pin the brightest place within reach, with its value: over all else, and whole in the picture."""
    groups = reachable_groups(result)
    if not groups:
        return
    place = highest_place(result, groups, Maps(result).of(quantity))
    at = np.array(place.position)
    seen = camera.project(at[None, :], aspect(size))[0]
    turn = -1.0 if seen[1] > 0.72 else 1.0
    head = at + turn * 5.0 * type_height(size) * camera.length_of_pixel(size[1]) * camera.up
    across = 0.0 if seen[0] < 0.3 else 1.0 if seen[0] > 0.7 else 0.5
    add_line(renderer, [at, head], PAPER, 5.0)
    add_line(renderer, [at, head], INK, 2.0)
    add_dot(renderer, at, PAPER, 11.0)
    add_dot(renderer, at, INK, 7.0)
    text = f" highest within reach: {with_error(place.value, place.half_width)} {unit_of(quantity)}".rstrip() + " "
    add_text(
        renderer,
        text,
        head,
        height=type_height(size) + 1,
        bold=True,
        across=across,
        up=0.0 if turn > 0 else 1.0,
        boxed=True,
    )
