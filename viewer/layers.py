"""A result as meshes: maps of the surfaces that have a grid, and all else as plain bodies."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pyvista as pv

from sim.analysis.maps import counted
from sim.analysis.selection import Selection
from sim.scene.wall_names import WALLS
from sim.tally.result import Group, Result
from sim.tally.statistics import Estimate

Role = Literal["map", "back", "wall", "thing", "screen", "cover", "reflector", "lamp"]
VALUE = "value"
ERROR = "standard error"
ROW = "receiver"


@dataclass(frozen=True)
class Layer:
    """One surface, ready to be drawn.

    Attributes
    ----------
    name : str
        Of the surface, or of the sensor or zone where those carry the map.
    role : Role
        ``map``: cells with `VALUE`, `ERROR` and `ROW` as cell data, fronts only; ``back``: the other side of such a
        surface; ``wall``: a wall without a grid, fronts only; ``screen``: woven mesh; ``cover``: what else closes an
        opening and is not read, such as a pane; ``thing``: any other body without a grid; ``reflector``; ``lamp``.
    mesh : pyvista.PolyData [m]
    """

    name: str
    role: Role
    mesh: pv.PolyData


def layers(shown: Selection) -> tuple[Layer, ...]:
    """Return all that there is to draw of a result, maps first.

    Parameters
    ----------
    shown : Selection

    Raises
    ------
    KeyError
        If there is no weighting of its quantity's name.
    """
    result = shown.result
    return (*(map_layer(result, group, shown.found) for group in mapped(result)), *_plain(result))


def mapped(result: Result) -> tuple[Group, ...]:
    """Return the groups that are drawn as maps: surfaces with a grid; in free space, sensors and zones."""
    surfaces = tuple(group for group in result.of_kind("surface") if _has_grid(group))
    others = (group for group in (*result.of_kind("sensor"), *result.of_kind("zone")) if _has_grid(group))
    return surfaces or tuple(others)


def map_layer(result: Result, group: Group, found: Estimate) -> Layer:
    """Return a group's grid as quadrilaterals that face as they are read; cells cut away whole are left out.

    Parameters
    ----------
    result : Result
    group : Group
        With a grid.
    found : Estimate
        Of every receiver of the result, (receiver,).
    """
    there = counted(result.area[group.rows])
    nu, nv = group.shape
    origin, edge_u, edge_v = (np.array(part) for part in (group.origin, group.edge_u, group.edge_v))
    across, along = np.linspace(0.0, 1.0, nu + 1), np.linspace(0.0, 1.0, nv + 1)
    points = origin + across[None, :, None] * edge_u + along[:, None, None] * edge_v
    first = (np.arange(nu)[None, :] + (nu + 1) * np.arange(nv)[:, None]).ravel()
    corners = np.stack([first, first + 1, first + nu + 2, first + nu + 1], axis=1)
    if np.dot(np.cross(edge_u, edge_v), result.normal[group.first]) < 0.0:
        corners = corners[:, ::-1]
    mesh = pv.PolyData.from_regular_faces(points.reshape(-1, 3), corners[there])
    rows = group.first + np.flatnonzero(there)
    mesh.cell_data[VALUE] = found.mean[rows]
    mesh.cell_data[ERROR] = found.se[rows]
    mesh.cell_data[ROW] = rows
    return Layer(group.name, "map", mesh)


def is_wall(name: str) -> bool:
    """Return whether a surface is part of the enclosure: a wall, all walls of a mesh, or what covers an opening."""
    wall, _, rest = name.partition(".")
    return name == "walls" or (wall in WALLS and (not rest or rest.startswith("opening ")))


def _has_grid(group: Group) -> bool:
    return group.shape[0] * group.shape[1] == group.count > 0


def _plain(result: Result) -> Iterator[Layer]:
    """Yield every surface of the geometry that is not a map, and the unread sides of those that are."""
    shape = result.geometry
    maps = {group.name for group in result.of_kind("surface") if _has_grid(group)}
    told = {group.name for group in result.of_kind("surface")}
    for row, name in enumerate(shape.names):
        role = _role(result, name, name in told)
        if name in maps:
            if is_wall(name):
                continue
            role = "back"
        faces = shape.faces[shape.face_surface == row]
        if len(faces):
            used, renumbered = np.unique(faces, return_inverse=True)
            mesh = pv.PolyData.from_regular_faces(shape.vertices[used], renumbered.reshape(faces.shape))
            yield Layer(name, role, mesh)


def _role(result: Result, name: str, told: bool) -> Role:
    if name in {lamp.name for lamp in result.lamps}:
        return "lamp"
    if name in {sheet.get("name") for sheet in result.scene.get("reflectors", ())}:
        return "reflector"
    if is_screen(result.scene, name):
        return "screen"
    if is_wall(name):
        return "wall" if told else "cover"
    return "thing"


def is_screen(scene: dict[str, Any], name: str) -> bool:
    """Return whether a surface of a scene is woven mesh."""
    law = _law(scene, name)
    if isinstance(law, str):
        law = scene.get("laws", {}).get(law)
    return isinstance(law, dict) and law.get("kind") == "screen"


def _law(scene: dict[str, Any], name: str) -> object:
    """Return what the scene says of a surface's law: a name, a table, or None where it says nothing."""
    for part in scene.get("parts", ()):
        if name == part["name"] or name.startswith(part["name"] + "."):
            return part.get("law")
    enclosure = scene.get("enclosure") or {}
    wall, _, opening = name.partition(".opening ")
    if opening.isdecimal():
        covers = [row.get("cover") for row in enclosure.get("openings", ()) if row.get("wall") == wall]
        return covers[int(opening) - 1] if 0 < int(opening) <= len(covers) else None
    walls = enclosure.get("walls") or {}
    return walls.get(wall) or walls.get("all") if wall in WALLS else None
