"""Scene to arrays: bodies and lamps, and the receivers where their light is read."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from sim.compile.beside_lamps import touches_lamp
from sim.compile.bodies import Bodies, Places, compile_bodies
from sim.compile.compiled import CompiledScene
from sim.compile.gathered import BoolArray, Gathered, Keep, gather, sensor_groups
from sim.compile.straight import StraightCells, straight_cells
from sim.compile.surfaces import Catalogue, Entry
from sim.geometry.mesh import FloatArray, joined
from sim.geometry.patches import patch_areas, patch_centres, patch_normals
from sim.scene.check import Survey
from sim.tally.result import Geometry, Group
from sim.transport.arrays import Emitters, Model, Planes, Receivers, Surfaces
from sim.transport.triangles import SURFACE

Gathering = Callable[[Survey, Keep, Callable[[FloatArray, FloatArray], float]], list[Gathered]]


def compile_scene(
    seen: Survey,
    only_sensors: bool = False,
    gathering: Gathering = gather,
    plain: bool = False,
    *,
    bodies: Bodies | None = None,
) -> CompiledScene:
    """Return a scene as arrays.

    Parameters
    ----------
    seen : Survey
        Of a scene whose check found no error.
    only_sensors : bool
        Leave out zones, places within reach and the lines under the lamps.
    gathering : callable
        Gives the receivers that block no light, see `sim.compile.gathered.gather`.
    plain : bool
        Let photons bring all light to surfaces, also what comes straight from lamps: slower, and the reference that
        the division of light is tested against.
    bodies : Bodies, optional
        Of the scene, where they are there already.

    Raises
    ------
    ValueError
        If all of a zone lies within bodies; one line that names it.
    """
    made = compile_bodies(seen) if bodies is None else bodies
    places = Places(made)
    gathered = list(sensor_groups(seen)) if only_sensors else gathering(seen, places.free, places.to_opaque)
    gathered = [_at_lamps(group, made.emitters) for group in gathered]
    split = Catalogue() if only_sensors or plain else made.catalogue
    straight = straight_cells(split, made.corners, made.surfaces.names[:, SURFACE].astype(np.int64), made.emitters)
    return _compiled(made, gathered, straight)


def _at_lamps(group: Gathered, emitters: Emitters) -> Gathered:
    """Return a group that knows whether it touches a lamp; strips of sections, which all do, stay with photons."""
    if group.kind == "section" or group.outline is None or not group.is_crossed:
        return group
    return replace(group, at_lamp=touches_lamp(group.outline, group.shape, emitters))


def _compiled(bodies: Bodies, gathered: list[Gathered], straight: StraightCells) -> CompiledScene:
    """Return bodies with what is read in them."""
    cells = [entry for entry in bodies.catalogue.entries if entry.first >= 0 and entry.cells > 0]
    count = bodies.catalogue.cells
    model = Model(
        tree=bodies.tree,
        surfaces=_sharing(bodies.surfaces, straight),
        laws=bodies.laws,
        emitters=bodies.emitters,
        mirrors=bodies.mirrors,
        receivers=Receivers(
            *(
                np.concatenate([_stacked(gathered, key), getattr(straight.receivers, key)])
                for key in ("origin", "edge_u", "edge_v", "normal")
            )
        ),
        planes=_planes(gathered),
    )
    return CompiledScene(
        model=model,
        edges_nm=bodies.edges_nm,
        spectra=bodies.spectra,
        band_share=bodies.share / bodies.share.sum(axis=1, keepdims=True),
        groups=_groups(cells, gathered, count),
        centre=np.concatenate([*(_cell_centres(entry) for entry in cells), _stacked(gathered, "centre")]),
        normal=np.concatenate([*(_cell_normals(entry) for entry in cells), _stacked(gathered, "normal")]),
        area=np.concatenate([*(_cell_areas(entry) for entry in cells), *(group.area for group in gathered)]),
        cells=count,
        effort=np.concatenate([np.zeros(0), *(_effort(group) for group in gathered)]),
        whole=np.concatenate([np.zeros(0, dtype=np.bool_), *(_whole(group) for group in gathered)]),
        straight=straight.rows,
        geometry=_geometry(bodies.catalogue),
        surface_names=tuple(entry.surface.name for entry in bodies.catalogue.entries),
    )


def _sharing(surfaces: Surfaces, straight: StraightCells) -> Surfaces:
    """Return surfaces with cells that share their straight light with rays."""
    shared = np.zeros_like(surfaces.shared)
    shared[straight.rows] = 1
    return surfaces._replace(shared=shared)


def _effort(group: Gathered) -> FloatArray:
    return np.full(len(group.area), group.effort / max(1, len(group.area)))


def _whole(group: Gathered) -> BoolArray:
    return np.full(len(group.area), not group.is_crossed)


def _planes(gathered: list[Gathered]) -> Planes:
    """Return the flat groups that photons cross."""
    grid, normal, cells = [], [], []
    first = 0
    for group in gathered:
        if group.is_crossed and group.outline is not None:
            corner, u, v = group.outline
            grid.append(np.concatenate([corner, u / (u @ u), v / (v @ v)]))
            normal.append(group.normal[0])
            cells.append((first, *group.shape, 1))
        first += len(group.area)
    return Planes(
        grid=np.array(grid).reshape(-1, 9),
        normal=np.array(normal).reshape(-1, 3),
        cells=np.array(cells, dtype=np.int64).reshape(-1, 4),
    )


def _stacked(gathered: list[Gathered], key: str) -> FloatArray:
    return np.concatenate([np.zeros((0, 3)), *(getattr(group, key) for group in gathered)])


def _cell_areas(entry: Entry) -> FloatArray:
    surface = entry.surface
    if surface.frame is not None:
        return surface.frame.cell_areas
    return patch_areas(surface.mesh, _ids(entry))


def _cell_centres(entry: Entry) -> FloatArray:
    surface = entry.surface
    return surface.frame.cell_centres if surface.frame is not None else patch_centres(surface.mesh, _ids(entry))


def _cell_normals(entry: Entry) -> FloatArray:
    surface = entry.surface
    if surface.frame is not None:
        return np.tile(surface.frame.normal, (entry.cells, 1))
    return patch_normals(surface.mesh, _ids(entry))


def _ids(entry: Entry) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    assert entry.surface.patches is not None, "a measured surface has a frame or patches"
    return entry.surface.patches


def _groups(cells: list[Entry], gathered: list[Gathered], first: int) -> tuple[Group, ...]:
    groups = []
    for entry in cells:
        frame = entry.surface.frame
        grid = {}
        if frame is not None:
            corner, u, v = (tuple(map(float, part)) for part in (frame.origin, frame.edge_u, frame.edge_v))
            grid = {"shape": frame.shape, "origin": corner, "edge_u": u, "edge_v": v}
        groups.append(Group("surface", entry.surface.name, entry.first, entry.cells, **grid))  # type: ignore[arg-type]
    for group in gathered:
        grid = {}
        if group.outline is not None and group.shape != (0, 0):
            corner, u, v = (tuple(map(float, part)) for part in group.outline)
            grid = {"shape": group.shape, "origin": corner, "edge_u": u, "edge_v": v}
        count = len(group.area)
        groups.append(Group(group.kind, group.name, first, count, detail=group.detail or None, **grid))  # type: ignore[arg-type]
        first += count
    return tuple(groups)


def _geometry(catalogue: Catalogue) -> Geometry:
    meshes = [entry.surface.mesh for entry in catalogue.entries]
    whole = joined(meshes)
    owner = np.repeat(np.arange(len(meshes)), [len(mesh.faces) for mesh in meshes])
    names = tuple(entry.surface.name for entry in catalogue.entries)
    return Geometry(vertices=whole.vertices, faces=whole.faces, face_surface=owner, names=names)
