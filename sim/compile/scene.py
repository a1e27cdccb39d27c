"""Scene to arrays: builds surfaces, bands, laws, lamps, receivers, and the tree over all triangles."""

from collections.abc import Callable

import numpy as np

from sim.compile.bands import band_edges, lamp_spectra, pack_laws
from sim.compile.compiled import CompiledScene
from sim.compile.emitters import faces_of_triangles, pack_emitters
from sim.compile.gathered import BoolArray, Gathered, Keep, gather, sensor_groups
from sim.compile.straight import straight_cells
from sim.compile.surfaces import Catalogue, Entry, collect, pack_surfaces
from sim.geometry.mesh import FloatArray, joined
from sim.geometry.patches import patch_areas, patch_centres, patch_normals
from sim.scene.check import Survey
from sim.scene.light_paths import lets_through
from sim.tally.result import Geometry, Group
from sim.transport.arrays import Model, Planes, Receivers, Tree
from sim.transport.tree_build import build_tree
from sim.transport.tree_traverse import closest_hits

Gathering = Callable[[Survey, Keep, Callable[[FloatArray, FloatArray], float]], list[Gathered]]


def compile_scene(
    seen: Survey, only_sensors: bool = False, gathering: Gathering = gather, plain: bool = False
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

    Raises
    ------
    ValueError
        If all of a zone lies within bodies; one line that names it.
    """
    scene = seen.scene
    catalogue = collect(seen)
    spectra = lamp_spectra(scene)
    edges = band_edges(scene, catalogue.laws)
    share = np.array([spectrum.band_power(edges) for spectrum in spectra])
    laws = pack_laws(catalogue.laws, spectra, edges)
    surfaces, mirrors, corners = pack_surfaces(catalogue, laws)
    tree = build_tree(corners)
    places = _Places(seen, catalogue, tree, surfaces.normal, surfaces.of_triangle)
    gathered = list(sensor_groups(seen)) if only_sensors else gathering(seen, places.free, places.to_opaque)
    emitters = pack_emitters([seen.lamps[lamp.name] for lamp in scene.lamps], (share > 0.0).astype(np.float64))
    surfaces.emitter[surfaces.emitter[:, 0] >= 0, 1] = faces_of_triangles(emitters)
    split = Catalogue() if only_sensors or plain else catalogue
    straight = straight_cells(split, corners, surfaces.of_triangle, emitters)
    surfaces.shared[straight.rows] = 1
    model = Model(
        tree=tree,
        surfaces=surfaces,
        laws=laws,
        emitters=emitters,
        mirrors=mirrors,
        receivers=Receivers(
            *(
                np.concatenate([_stacked(gathered, key), getattr(straight.receivers, key)])
                for key in ("origin", "edge_u", "edge_v", "normal")
            )
        ),
        planes=_planes(gathered),
    )
    cells = [entry for entry in catalogue.entries if entry.first >= 0 and entry.cells > 0]
    return CompiledScene(
        model=model,
        edges_nm=edges,
        spectra=spectra,
        band_share=share / share.sum(axis=1, keepdims=True),
        groups=_groups(cells, gathered, catalogue.cells),
        centre=np.concatenate([*(_cell_centres(entry) for entry in cells), _stacked(gathered, "centre")]),
        normal=np.concatenate([*(_cell_normals(entry) for entry in cells), _stacked(gathered, "normal")]),
        area=np.concatenate([*(_cell_areas(entry) for entry in cells), *(group.area for group in gathered)]),
        cells=catalogue.cells,
        effort=np.concatenate([np.zeros(0), *(_effort(group) for group in gathered)]),
        whole=np.concatenate([np.zeros(0, dtype=np.bool_), *(_whole(group) for group in gathered)]),
        straight=straight.rows,
        geometry=_geometry(catalogue),
        surface_names=tuple(entry.surface.name for entry in catalogue.entries),
    )


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


class _Places:
    """Answers about points of a scene by casting rays through its tree."""

    def __init__(
        self, seen: Survey, catalogue: Catalogue, tree: Tree, normals: FloatArray, of_triangle: np.ndarray
    ) -> None:
        self._room = seen.room
        self._tree, self._normals, self._owner = tree, normals, of_triangle
        self._closed = np.array([entry.surface.closed for entry in catalogue.entries])
        self._open = np.array([any(lets_through(law) for law in entry.laws) for entry in catalogue.entries])

    def free(self, points: FloatArray) -> BoolArray:
        """Return which points lie in the enclosure and in no closed body."""
        # A slanted ray meets no edge of things that stand upright; leaving through a back means having been inside.
        ray = np.array([0.0137, 0.0071, 1.0])
        directions = np.tile(ray / np.linalg.norm(ray), (len(points), 1))
        distance, triangle = np.full(len(points), np.inf), np.full(len(points), -1)
        closest_hits(self._tree, np.ascontiguousarray(points), directions, distance, triangle)
        hit = triangle >= 0
        leaving = np.einsum("ij,ij->i", directions, self._normals[triangle]) > 0.0
        inside = hit & leaving & self._closed[self._owner[triangle]]
        free: BoolArray = ~inside
        return free if self._room is None else free & self._room.holds(points)

    def to_opaque(self, start: FloatArray, direction: FloatArray) -> float:
        """Return the distance to the first surface that lets no light through, or infinity."""
        travelled = 0.0
        while True:
            distance, triangle = np.full(1, np.inf), np.full(1, -1)
            closest_hits(self._tree, (start + travelled * direction)[None, :], direction[None, :], distance, triangle)
            travelled += float(distance[0])
            if triangle[0] < 0 or not self._open[self._owner[triangle[0]]]:
                return travelled
