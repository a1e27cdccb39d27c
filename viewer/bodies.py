"""Drawing layers: maps in the colours of the scale, bodies, screens as nets, edges, fields."""

from collections.abc import Iterable, Sequence
from typing import Literal

import numpy as np
import pyvista as pv

from sim.analysis.selection import Part, Selection
from sim.tally.result import FloatArray
from viewer.beside import PLAIN_COLOURS
from viewer.callouts import Callout
from viewer.field import contours
from viewer.flat import INK, PAPER, QUIET
from viewer.layers import ERROR, VALUE, Layer, Role, is_wall
from viewer.scale import COLOURS, Scale

_HIDDEN_SIDE: dict[Role, Literal["front", "back"]] = {"back": "front", "wall": "back"}


def add_model(plotter: pv.Plotter, shown: Sequence[Layer], scale: Scale | None, part: Part) -> None:
    """Add layers to the model's renderer; maps show the value or its standard error, in the colours of the scale."""
    maps = [layer.mesh for layer in shown if layer.role == "map"]
    if maps:
        assert scale is not None, "a map has a scale"
        _add_maps(plotter, _together(maps), scale, part)
    add_bodies(plotter, shown)


def add_bodies(plotter: pv.Plotter, shown: Iterable[Layer]) -> None:
    """Add what is no map: bodies, and screens and other covers as lines; parts that carry a map get an outline."""
    bodies: dict[Role, list[pv.PolyData]] = {}
    outlines: dict[tuple[str, float], list[pv.PolyData]] = {}
    for layer in shown:
        outline = _outline_of(layer)
        if outline is not None:
            outlines.setdefault(outline, []).append(layer.mesh)
        if layer.role == "screen":
            _weave(plotter, layer)
        if layer.role not in ("map", "screen", "cover"):
            bodies.setdefault(layer.role, []).append(layer.mesh)
    for role, meshes in bodies.items():
        _add_bodies(plotter, _together(meshes), role)
    for (colour, width), meshes in outlines.items():
        edges = [found for mesh in meshes if (found := mesh.extract_feature_edges(30.0)).n_cells]
        if edges:
            add_lines(plotter, _together(edges), colour, width)


def _together(meshes: Sequence[pv.PolyData]) -> pv.PolyData:
    """Return meshes that are drawn alike as one, since each thing to draw takes as long as some thousand cells."""
    first, *others = meshes
    return first.append_polydata(*others) if others else first


def _outline_of(layer: Layer) -> tuple[str, float] | None:
    """Return colour and width [px] of a layer's outline, if it has one."""
    if layer.role == "map":
        return None if is_wall(layer.name) else (QUIET, 1.0)
    if layer.role in ("screen", "cover"):
        # Lines alone: a tint would change the colours of the maps behind it.
        return PLAIN_COLOURS[layer.role], 2.0
    return (QUIET, 1.5) if layer.role == "reflector" else None


def _add_maps(plotter: pv.Plotter, mesh: pv.PolyData, scale: Scale, part: Part) -> None:
    plotter.add_mesh(
        mesh,
        scalars=VALUE if part == "value" else ERROR,
        cmap=COLOURS,
        clim=(0.0, scale.ticks.top),
        lighting=False,
        culling="back",
        show_scalar_bar=False,
        copy_mesh=True,
    )


def _add_bodies(plotter: pv.Plotter, mesh: pv.PolyData, role: Role) -> None:
    opacity = 0.35 if role == "reflector" else 1.0
    culling, colour = _HIDDEN_SIDE.get(role), PLAIN_COLOURS[role]
    plotter.add_mesh(mesh, color=colour, culling=culling, opacity=opacity, ambient=0.35, diffuse=0.7)


def add_field(plotter: pv.Plotter, shown: Selection, scale: Scale) -> list[Callout]:
    """Add lines of equal value, and surfaces in the colours of the scale; return the labels of both."""
    labels: list[Callout] = []
    for found in contours(shown, scale.ticks.levels):
        if found.surface:
            _add_surface(plotter, found.mesh, scale)
        else:
            # Dark with a light core, as the outlines of zones: seen on every colour of the map.
            plotter.add_mesh(found.mesh, color=INK, line_width=4.0, lighting=False)
            add_lines(plotter, found.mesh, PAPER, 1.6)
        labels += found.callouts
    return labels


def _add_surface(plotter: pv.Plotter, mesh: pv.PolyData, scale: Scale) -> None:
    plotter.add_mesh(
        mesh,
        scalars="level",
        cmap=COLOURS,
        clim=(0.0, scale.ticks.top),
        lighting=False,
        show_scalar_bar=False,
        opacity=0.45,
    )
    edges = mesh.extract_feature_edges(feature_edges=False, manifold_edges=False)
    if edges.n_cells:
        add_lines(plotter, edges, INK, 1.2)


def add_ways(plotter: pv.Plotter, ways: Sequence[FloatArray]) -> None:
    """Add photons' ways as lines, dark with a light core; a dot marks the end of each."""
    drawn = [way for way in ways if len(way) > 1]
    if not drawn:
        return
    lines = pv.merge([pv.lines_from_points(way) for way in drawn])
    plotter.add_mesh(lines, color=INK, line_width=2.6, lighting=False)
    add_lines(plotter, lines, PAPER, 1.0)
    ends = pv.PolyData(np.array([way[-1] for way in drawn]))
    plotter.add_mesh(ends, color=INK, point_size=6.0, lighting=False, render_points_as_spheres=True)


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


def add_lines(plotter: pv.Plotter, mesh: pv.DataSet, colour: str, width: float) -> None:
    """Add lines of a colour and a width [px] that are not hidden by the surfaces they lie on."""
    actor = plotter.add_mesh(mesh, color=colour, line_width=width, lighting=False)
    # A hair nearer to the eye than the surfaces that they bound, or they would come out dashed.
    actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor.mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0.0, -6.0)


def add_edges(plotter: pv.Plotter, room: FloatArray) -> None:
    """Draw the twelve edges of a box."""
    (x0, y0, z0), (x1, y1, z1) = room
    box = pv.Box((x0, x1, y0, y1, z0, z1)).extract_all_edges()
    add_lines(plotter, box, QUIET, 1.2)
