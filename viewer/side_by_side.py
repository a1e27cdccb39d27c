"""Two results as models beside each other on one colour scale, and their difference where it is beyond its error."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pyvista as pv

from sim.analysis.comparison import Comparison, beyond_error
from sim.analysis.numbers import plain
from sim.report.cautions import SHORT
from sim.report.comparison_figure import DIFFERENCE_COLOURS, HIDDEN
from sim.report.map_scale import MapScale
from sim.report.write import write_whole_bytes
from sim.tally.statistics import Estimate
from viewer.bodies import add_bodies, add_edges, add_lines
from viewer.cameras import Camera, View, camera_for
from viewer.flat import INK, PAPER, QUIET, add_line, add_rectangles, add_text, wrapped
from viewer.layers import ROW, VALUE, Layer, layers
from viewer.scale import COLOURS, Scale, scale_for
from viewer.snapshot import png_of
from viewer.stage import points_of, room_of, stand, type_height

SIZE = (1800, 720)
_BARS = 0.2
"""Share of the height that the colour bars take, below the models."""
_MARGINS = (0.04, 0.04, _BARS + 0.04, 0.14)


def models(compared: Comparison, names: tuple[str, str], path: Path, camera: View | Camera = "corner") -> None:
    """Write a picture of three models: the first result, the second, and second less first.

    Parameters
    ----------
    compared : Comparison
    names : (str, str)
        What the two results are called.
    path : Path
        Of the PNG.
    camera : View or Camera
        The same for all three.
    """
    sides = [layers(shown) for shown in (compared.first, compared.second)]
    shared = _shared(scale_for(compared.first), scale_for(compared.second))
    difference = tuple(_difference(compared, sides[1]))
    every = np.concatenate([np.zeros(1), *(np.asarray(layer.mesh.cell_data[VALUE]) for layer in difference)])
    reach = float(np.abs(every[np.isfinite(every)]).max()) or shared.ticks.top
    heads = (*names, f"difference: {names[1]} less {names[0]}")
    plotter = pv.Plotter(off_screen=True, shape=(1, 3), border=False, window_size=list(SIZE))
    try:
        points = np.concatenate([points_of(side) for side in sides])
        aspect = SIZE[0] / 3 / SIZE[1]
        seen = camera if isinstance(camera, Camera) else camera_for(points, camera, aspect, _MARGINS)
        for number, (shown, head) in enumerate(zip((*sides, difference), heads, strict=True)):
            plotter.subplot(0, number)
            if number == 2:
                _add_difference(plotter, shown, reach, seen)
                add_bodies(plotter, [*shown, *(layer for layer in sides[1] if layer.role != "map")])
            else:
                _add_maps(plotter, shown, COLOURS, (0.0, shared.ticks.top))
                add_bodies(plotter, shown)
            room = room_of(sides[1])
            if room is not None:
                add_edges(plotter, room)
            stand(plotter, seen)
            _head(plotter.renderer, head)
            plotter.renderer.background_color = PAPER
        _foot(plotter, shared, reach)
        write_whole_bytes(path, png_of(np.asarray(plotter.screenshot(return_img=True))))
    finally:
        plotter.close()


def _shared(first: Scale, second: Scale) -> Scale:
    """Return the one of two scales that reaches higher; it knows of the highest cell of both."""
    higher = max(first, second, key=lambda scale: scale.ticks.top)
    highest = max(first.ticks.highest, second.ticks.highest)
    ticks = MapScale(higher.ticks.top, higher.ticks.levels, highest)
    return Scale(higher.title, higher.unit, ticks, max(first.typical_error, second.typical_error))


def _difference(compared: Comparison, whole: tuple[Layer, ...]) -> Iterator[Layer]:
    """Yield the second result's maps with the difference, NaN where it is below its error or has no counterpart."""
    found = {(pair.second.kind, pair.name): compared.difference(pair) for pair in compared.pairs}
    kinds = {group.first: group for group in compared.second.result.groups}
    for layer in whole:
        if layer.role != "map":
            continue
        mesh = layer.mesh.copy()
        rows = np.asarray(mesh.cell_data[ROW], dtype=np.int64)
        group = kinds[max(first for first in kinds if first <= rows[0])]
        each = found.get((group.kind, group.name))
        mesh.cell_data[VALUE] = np.full(len(rows), np.nan) if each is None else _visible(each)[rows - group.first]
        yield Layer(layer.name, layer.role, mesh)


def _visible(found: Estimate) -> "np.ndarray[tuple[int, ...], np.dtype[np.float64]]":
    return np.where(beyond_error(found), found.mean, np.nan)


def _add_maps(plotter: pv.Plotter, shown: tuple[Layer, ...], colours: str, span: tuple[float, float]) -> None:
    table = pv.LookupTable(colours, n_values=256, scalar_range=span, nan_color=HIDDEN)
    for layer in shown:
        if layer.role == "map":
            plotter.add_mesh(
                layer.mesh,
                scalars=VALUE,
                cmap=table,
                clim=span,
                lighting=False,
                culling="back",
                show_scalar_bar=False,
                copy_mesh=True,
            )


def _add_difference(plotter: pv.Plotter, shown: tuple[Layer, ...], reach: float, camera: Camera) -> None:
    """Add the difference; cells without one are grey and crossed, so that colour alone does not tell."""
    _add_maps(plotter, shown, DIFFERENCE_COLOURS, (-reach, reach))
    # Walls that are seen from behind are left out, and so is what is written on them.
    towards = [layer for layer in shown if _faces(layer, camera)]
    crosses = [cross for layer in towards if (cross := _crosses(layer)).n_cells]
    if crosses:
        add_lines(plotter, pv.merge(crosses), QUIET, 0.7)


def _faces(layer: Layer, camera: Camera) -> bool:
    corners = np.asarray(layer.mesh.points, dtype=np.float64)[layer.mesh.regular_faces[0]]
    normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
    return bool(normal @ (camera.eye - corners[0]) > 0.0)


def _crosses(layer: Layer) -> pv.PolyData:
    """Return a diagonal through every cell whose number is hidden."""
    hidden = np.isnan(np.asarray(layer.mesh.cell_data[VALUE]))
    corners = layer.mesh.regular_faces[hidden]
    ends = np.asarray(layer.mesh.points)[corners[:, [0, 2]].ravel()]
    lines = np.arange(len(ends)).reshape(-1, 2)
    if not len(ends):
        return pv.PolyData()
    return pv.PolyData(ends, lines=np.column_stack([np.full(len(lines), 2), lines]).ravel())


def _head(renderer: pv.Renderer, head: str) -> None:
    letters = type_height((1200, SIZE[1])) + 4
    text = wrapped(head, 0.92 * SIZE[0] / 3, letters, 2)
    add_text(renderer, text, (0.04, 0.965), height=letters, bold=True, up=1.0)


def _foot(plotter: pv.Plotter, scale: Scale, reach: float) -> None:
    letters = type_height((1200, SIZE[1])) + 1
    plotter.subplot(0, 0)
    unit = f", {scale.unit}" if scale.unit else ""
    ticks = [(value / scale.ticks.top, plain(value)) for value in (0.0, *scale.ticks.levels[1::2], scale.ticks.top)]
    if scale.ticks.cut:
        ticks[-1] = (1.0, f"{plain(scale.ticks.top)} or more")
    _bar(plotter.renderer, COLOURS, f"{scale.title}{unit}", ticks, letters)
    caution = wrapped(SHORT, 0.92 * SIZE[0] / 3, letters - 2, 2)
    add_text(plotter.renderer, caution, (0.06, 0.02), height=letters - 2, colour=QUIET)
    plotter.subplot(0, 2)
    steps = (-1.0, -0.5, 0.0, 0.5, 1.0)
    sides = [(0.5 * (step + 1.0), plain(float(f"{step * reach:.3g}"))) for step in steps]
    _bar(plotter.renderer, DIFFERENCE_COLOURS, f"difference{unit}", sides, letters)
    box = (0.06, 0.025, 0.095, 0.055)
    add_rectangles(plotter.renderer, np.array([box]), np.array([pv.Color(HIDDEN).float_rgb]))
    add_line(plotter.renderer, [(box[0], box[1]), (box[2], box[3])], QUIET)
    text = "difference below its error, half of the 95 % interval"
    add_text(plotter.renderer, text, (0.115, 0.04), height=letters - 1, colour=INK, up=0.5)


def _bar(renderer: pv.Renderer, colours: str, title: str, ticks: list[tuple[float, str]], letters: int) -> None:
    left, right, low, high = 0.06, 0.8, 0.135, 0.16
    table = pv.LookupTable(colours, n_values=256)
    edges = left + (right - left) * np.linspace(0.0, 1.0, 257)
    strips = np.array([(edge, low, right, high) for edge in edges[:-1]])
    add_rectangles(renderer, strips, table.values[:, :3] / 255.0)
    add_line(renderer, [(left, low), (right, low), (right, high), (left, high), (left, low)], QUIET)
    add_text(renderer, title, (left, high + 0.012), height=letters, bold=True)
    for share, text in ticks:
        x = left + (right - left) * share
        add_line(renderer, [(x, low), (x, low - 0.01)], QUIET)
        add_text(renderer, text, (x, low - 0.016), height=letters, across=0.5, up=1.0)
