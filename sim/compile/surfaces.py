"""All surfaces of a scene in one list, and the arrays made of it."""

from dataclasses import dataclass, field
from itertools import compress

import numpy as np
import numpy.typing as npt

from sim.geometry.frame import Frame
from sim.geometry.mesh import FloatArray, IntArray
from sim.lamps.lamp import LampShape
from sim.materials.law import Law, LawRef
from sim.materials.surface import Surface
from sim.scene.check import Survey
from sim.scene.light_paths import lets_through
from sim.scene.receivers import is_measured, surface_receivers
from sim.transport.arrays import Laws, Mirrors, Surfaces
from sim.transport.triangles import NOTHING, records

MOST_MIRRORS = 12
"""Plane mirrors handled by images, each at a shadow ray for every direct one. Light off others is found by chains at
points, by photons elsewhere."""
LEAST_MIRROR = 0.25
"""Reflectance at normal incidence from which an image pays: the few per cent off a pane come cheaper by photons."""

_UPRIGHT = 1e-6

BoolArray = npt.NDArray[np.bool_]


@dataclass
class Entry:
    """A surface with its laws resolved, its first cell, and the lamp that it belongs to, if any."""

    surface: Surface
    laws: tuple[Law, Law]
    first: int
    cells: int
    lamp: int = -1
    emits: np.ndarray[tuple[int], np.dtype[np.bool_]] | None = None


@dataclass
class Catalogue:
    """All surfaces of a scene in the order of their rows, the laws that they use, and the count of cells."""

    entries: list[Entry] = field(default_factory=list)
    laws: list[Law] = field(default_factory=list)
    cells: int = 0

    def law_row(self, law: Law) -> int:
        """Return a law's row, adding it if it is new."""
        if law not in self.laws:
            self.laws.append(law)
        return self.laws.index(law)


def collect(seen: Survey) -> Catalogue:
    """Return the surfaces of a scene: walls, parts, reflectors, lamps."""
    catalogue = Catalogue()
    scene = seen.scene
    sheets = [surface for surfaces in seen.reflectors.values() for surface in surfaces]
    for surface in [*seen.surfaces, *sheets]:
        _add(catalogue, seen, surface, surface_receivers(scene, surface))
    for index, lamp in enumerate(scene.lamps):
        shape = seen.lamps[lamp.name]
        body = _lamp_surface(lamp.name, shape, lamp.body)
        entry = _add(catalogue, seen, body, surface_receivers(scene, body))
        entry.lamp, entry.emits = index, shape.emits
    return catalogue


def _lamp_surface(name: str, shape: LampShape, law: LawRef) -> Surface:
    # A panel is part of the room's outline, so what falls on it is told; the skin of a tube is nobody's business.
    patches = np.zeros(len(shape.body.faces), dtype=np.int64) if shape.open_body else None
    closed = not shape.open_body
    return Surface(name, shape.body, law, patches=patches, measured=shape.open_body, closed=closed)


def _add(catalogue: Catalogue, seen: Survey, surface: Surface, cells: int) -> Entry:
    front = seen.scene.law(surface.law)
    back = front
    # What lets light through does so both ways: else light could get to where no path finds back from.
    if surface.back_law is not None and not lets_through(front):
        back = seen.scene.law(surface.back_law)
    entry = Entry(surface, (front, back), catalogue.cells if is_measured(seen.scene, surface) else -1, cells)
    for law in entry.laws:
        catalogue.law_row(law)
    catalogue.entries.append(entry)
    catalogue.cells += cells
    return entry


def pack_surfaces(catalogue: Catalogue, laws: Laws) -> tuple[Surfaces, Mirrors, FloatArray]:
    """Return the rows of triangles and surfaces, the plane mirrors, and all triangles' corners, (n, 3, 3) [m]."""
    entries = catalogue.entries
    meshes = [entry.surface.mesh for entry in entries]
    counts = np.array([len(mesh.faces) for mesh in meshes])
    mirrors = _plane_mirrors(catalogue, laws)
    normal, names = records(
        np.concatenate([mesh.normals for mesh in meshes]),
        np.repeat(np.arange(len(entries)), counts),
        np.concatenate([_receivers(entry) for entry in entries]),
    )
    law = np.array([[catalogue.law_row(law) for law in entry.laws] for entry in entries], dtype=np.int64)
    lit = np.array([entry.emits is not None for entry in entries])
    woven = (laws.fill[law, 0] >= 0.0).any(axis=1)
    surfaces = Surfaces(
        normal=normal,
        names=names,
        emitter=np.concatenate([np.zeros((0, 2), dtype=np.int64), *map(_emitter, compress(entries, lit))]),
        tangent=np.concatenate([np.zeros((0, 3)), *(tangents(entry.surface) for entry in compress(entries, woven))]),
        unlit=_left_out(counts, lit),
        unwoven=_left_out(counts, woven),
        law=law,
        grid=np.array([_grid(entry.surface.frame) for entry in entries]),
        cells=np.array([_grid_cells(entry) for entry in entries], dtype=np.int64),
        mirror=np.zeros(len(entries), dtype=np.int64),
        shared=np.zeros(catalogue.cells, dtype=np.int64),
    )
    surfaces.mirror[mirrors.surface] = 1
    return surfaces, mirrors, np.concatenate([mesh.corners for mesh in meshes])


def _left_out(counts: IntArray, listed: BoolArray) -> IntArray:
    """Return how many triangles before those of each surface are of surfaces that are not listed; -1 for these."""
    before = np.cumsum(np.where(listed, 0, counts))
    return np.where(listed, before, NOTHING)


def _receivers(entry: Entry) -> IntArray:
    patches = entry.surface.patches
    if entry.first < 0 or patches is None or entry.surface.frame is not None:
        return np.full(len(entry.surface.mesh.faces), -1, dtype=np.int64)
    return np.where(patches >= 0, entry.first + patches, -1)


def tangents(surface: Surface) -> FloatArray:
    """Return the direction of a screen's first wires in the plane of each triangle, (n, 3), as cloth lies on it."""
    normal = surface.mesh.normals
    along = surface.tangent - (normal @ surface.tangent)[:, None] * normal
    # Where the wires would stand upright on a triangle, the other set tells how the cloth lies.
    least = np.eye(3)[np.argmin(np.abs(surface.tangent))]
    other = np.cross(normal, np.cross(surface.tangent, least))
    along = np.where(np.linalg.norm(along, axis=1, keepdims=True) > _UPRIGHT, along, other)
    unit: FloatArray = along / np.linalg.norm(along, axis=1, keepdims=True)
    return unit


def _emitter(entry: Entry) -> IntArray:
    """Return the lamp that each triangle of a lamp belongs to, if it is lit, and no face yet, (n, 2)."""
    found = np.full((len(entry.surface.mesh.faces), 2), -1, dtype=np.int64)
    if entry.emits is not None:
        found[entry.emits, 0] = entry.lamp
    return found


def _grid(frame: Frame | None) -> FloatArray:
    if frame is None:
        return np.zeros(9)
    u, v = frame.edge_u, frame.edge_v
    return np.concatenate([frame.origin, u / (u @ u), v / (v @ v)])


def _grid_cells(entry: Entry) -> tuple[int, int, int]:
    if entry.first < 0 or entry.surface.frame is None:
        return (-1, 0, 0)
    return (entry.first, *entry.surface.frame.shape)


def _plane_mirrors(catalogue: Catalogue, laws: Laws) -> Mirrors:
    """Return the largest plane surfaces that reflect like a mirror."""
    found = []
    for row, entry in enumerate(catalogue.entries):
        if entry.lamp >= 0 or not any(_is_mirror(laws, catalogue.law_row(law)) for law in entry.laws):
            continue
        mesh = entry.surface.mesh
        normal = mesh.normals[0]
        if np.ptp(mesh.vertices @ normal) < 1e-9:
            found.append((-float(mesh.areas.sum()), row, mesh.vertices[0], normal))
    found = sorted(found, key=lambda item: item[:2])[:MOST_MIRRORS]
    return Mirrors(
        surface=np.array([item[1] for item in found], dtype=np.int64),
        point=np.array([item[2] for item in found]).reshape(-1, 3),
        normal=np.array([item[3] for item in found]).reshape(-1, 3),
        chain=np.zeros((laws.diffuse.shape[1], 0, 0)),
    )


def _is_mirror(laws: Laws, law: int) -> bool:
    row = laws.specular_row[law]
    return bool(row >= 0 and laws.specular[row, ..., -1, 0].max() > LEAST_MIRROR)
