"""The enclosure: a box of walls with openings, or a room from a mesh file."""

from dataclasses import replace

import numpy as np
from pydantic import Field, model_validator

from sim.furniture.imported import LONGEST_EDGE, read_mesh
from sim.furniture.mesh_file import MeshFile, MeshPath, Unit, unit_fault
from sim.geometry.closed import picked, signed_volume, winding_number
from sim.geometry.frame import Frame, Hole, cells_of_size
from sim.geometry.mesh import FloatArray
from sim.geometry.patches import patches, split_to_size
from sim.geometry.rectangles import box_frames, rectangle_part
from sim.materials.flat import flat_surface
from sim.materials.law import LawRef
from sim.materials.surface import Surface
from sim.scene.wall import Opening, Walls
from sim.scene.wall_names import WALLS, Wall
from sim.spec import Spec
from sim.units import Length

_FACE_OF_WALL = {"floor": "bottom", "ceiling": "top"}
_AXES = {"floor": "xy", "ceiling": "xy", "front": "xz", "back": "xz", "left": "yz", "right": "yz"}
SNAP = 1e-9
"""Edges of openings nearer to each other or to the wall's edge than this are one [m]."""

STEEPEST_FLOOR = np.cos(np.deg2rad(45.0))


class Enclosure(Spec):
    """The walls around everything: an upright box, or a room from a mesh file.

    =========  ===================================================================  ==================
    key        meaning                                                              unit or default
    =========  ===================================================================  ==================
    size       inside lengths along x, y and z                                      three lengths
    walls      law of each wall                                                     table
    openings   rectangles cut out of walls                                          none
    mesh       a mesh file instead of size, walls and openings                      path
    unit       mm | cm | m | in | ft, of the mesh file; not for GLB
    law        law of all of the mesh
    =========  ===================================================================  ==================

    Example::

        [enclosure]
        size = ["120 cm", "60 cm", "60 cm"]
        walls = { all = "melamine-white", floor = "sand-dry" }

    A room from a file::

        [enclosure]
        mesh = "room.stl"
        unit = "mm"
        law = "concrete"

    Notes
    -----
    The box stands with its inside front left corner of the floor at the origin; its walls have no thickness and are
    read from within. Both of their sides have the same law.

    A mesh keeps the coordinates of its file. It is read from within: fronts that face outward are turned, by the sign
    of the volume that the triangles enclose or, if a wall is missing, nearly enclose. Its surfaces are ``floor`` (what
    looks up, at most 45 degrees steep), ``ceiling`` (what looks down) and ``walls`` (the rest).
    """

    size: tuple[Length, Length, Length] | None = Field(default=None, description="inside lengths along x, y and z")
    walls: Walls | None = Field(default=None, description="law of each wall of the box")
    openings: tuple[Opening, ...] = Field(default=(), description="rectangles cut out of walls")
    mesh: MeshPath | None = Field(default=None, description="mesh file, instead of size and walls")
    unit: Unit | None = Field(default=None, description="of the mesh file's coordinates; not for GLB")
    law: LawRef | None = Field(default=None, description="law of all of the mesh")

    @model_validator(mode="after")
    def _box_or_mesh(self) -> "Enclosure":
        if (self.size is None) == (self.mesh is None):
            raise ValueError("an enclosure needs either size = ['120 cm', '60 cm', '60 cm'] or mesh = 'room.stl'")
        form, needed, foreign = (
            ("size", "walls", ("unit", "law")) if self.mesh is None else ("mesh", "law", ("walls", "openings"))
        )
        if getattr(self, needed) is None:
            raise ValueError(f"'{needed}' is missing; an enclosure by '{form}' needs it")
        for key in foreign:
            if key in self.model_fields_set:
                raise ValueError(f"'{key}' does not belong to an enclosure by '{form}'; leave it out")
        fault = None if self.mesh is None else unit_fault(self.mesh, self.unit)
        if fault is not None:
            raise ValueError(fault)
        return self

    @model_validator(mode="after")
    def _openings_fit(self) -> "Enclosure":
        if self.size is None:
            return self
        for wall in WALLS:
            holes = self._holes(wall)
            for index, (hole, label) in enumerate(holes):
                self._refuse_outside(wall, hole, label)
                for other, other_label in holes[:index]:
                    if min(hole[2], other[2]) > max(hole[0], other[0]) and min(hole[3], other[3]) > max(
                        hole[1], other[1]
                    ):
                        raise ValueError(f"{label} and {other_label} overlap on the wall '{wall}'; move one of them")
        return self

    def _refuse_outside(self, wall: Wall, hole: Hole, label: str) -> None:
        for axis, length, end in zip(_AXES[wall], self._wall_size(wall), hole[2:], strict=True):
            if end > length:
                raise ValueError(
                    f"{label} reaches {axis} = {100 * end:.6g} cm, but the wall '{wall}' ends at {100 * length:.6g} cm"
                )

    def _wall_size(self, wall: Wall) -> tuple[float, float]:
        assert self.size is not None  # only asked of a box
        first, second = ("xyz".index(axis) for axis in _AXES[wall])
        return self.size[first], self.size[second]

    def _holes(self, wall: Wall) -> list[tuple[Hole, str]]:
        """Return the openings of a wall, snapped to its edges, each with its key in the file."""
        width, height = self._wall_size(wall)
        found = []
        for index, opening in enumerate(self.openings):
            if opening.wall == wall:
                (u, v), (du, dv) = opening.corner, opening.size
                hole = (_snapped(u, width), _snapped(v, height), _snapped(u + du, width), _snapped(v + dv, height))
                found.append((hole, f"openings[{index}]"))
        return found

    @property
    def surface_names(self) -> tuple[str, ...]:
        """Names of its surfaces: walls of which something is left, and covered openings.

        A mesh may lack one of its three, such as a room without a ceiling.
        """
        if self.size is None:
            return "floor", "ceiling", "walls"
        return tuple(surface.name for surface in self._box_surfaces(max(self.size)))

    def surfaces(self, receiver_size: float) -> list[Surface]:
        """Return its walls and the covers of its openings, with receivers of about a size [m].

        Raises
        ------
        ValueError
            If the mesh file cannot be used.
        """
        return self._mesh_surfaces(receiver_size) if self.size is None else self._box_surfaces(receiver_size)

    def _box_surfaces(self, receiver_size: float) -> list[Surface]:
        assert self.walls is not None  # a box has them
        frames = box_frames(np.zeros(3), np.array(self.size), receiver_size, inward=True)
        found = []
        for wall in WALLS:
            bare = frames[_FACE_OF_WALL.get(wall, wall)]
            holes = tuple(hole for hole, _ in self._holes(wall))
            frame = Frame(bare.origin, bare.edge_u, bare.edge_v, bare.shape, holes, bare.flipped)
            if np.any(frame.cell_areas > SNAP * SNAP):
                found.append(replace(flat_surface(wall, frame, self.walls.law(wall)), reachable=wall == "floor"))
            covers = [opening.cover for opening in self.openings if opening.wall == wall]
            for number, (hole, cover) in enumerate(zip(holes, covers, strict=True), start=1):
                if cover is not None:
                    found.append(_cover(f"{wall}.opening {number}", bare, hole, cover, receiver_size))
        return found

    def _mesh_surfaces(self, receiver_size: float) -> list[Surface]:
        assert self.law is not None  # a mesh has one
        room = self._room()
        split = split_to_size(room.mesh, LONGEST_EDGE * receiver_size)
        upward = split.normals[:, 2]
        shares = {
            "floor": upward >= STEEPEST_FLOOR,
            "ceiling": upward <= -STEEPEST_FLOOR,
            "walls": np.abs(upward) < STEEPEST_FLOOR,
        }
        found = []
        for name, share in shares.items():
            if np.any(share):
                mesh = picked(split, share)
                ids = patches(mesh, receiver_size)
                found.append(Surface(name, mesh, self.law, patches=ids, reachable=name == "floor"))
        return found

    def _room(self) -> MeshFile:
        """Return the mesh file with its fronts inward."""
        assert self.mesh is not None  # only asked of a mesh
        found = read_mesh(self.mesh, self.unit)
        if signed_volume(found.mesh) <= 0.0:
            return found
        return replace(
            found, mesh=found.mesh.flipped(), turned="outward" if found.watertight and not found.turned else None
        )

    def description(self) -> str | None:
        """Return one line on the mesh file, None for a box.

        Raises
        ------
        ValueError
            If the file cannot be used.
        """
        return None if self.mesh is None else self._room().note()

    def bounds(self) -> FloatArray:
        """Return the lowest and the highest corner of its inside, (2, 3) [m].

        Raises
        ------
        ValueError
            If the mesh file cannot be used.
        """
        return self._room().mesh.bounds if self.size is None else np.array([(0.0, 0.0, 0.0), self.size])

    def contains(self, point: FloatArray) -> bool:
        """Return whether a point (3,) [m] lies inside; within a box, the walls count.

        Raises
        ------
        ValueError
            If the mesh file cannot be used.

        Notes
        -----
        Of a mesh by its winding number, which also serves a room that lacks a wall.
        """
        if self.size is None:
            return abs(winding_number(self._room().mesh, point)) > 0.5
        return bool(np.all(point >= 0.0) and np.all(point <= np.array(self.size)))


def _snapped(value: float, length: float) -> float:
    if abs(value - length) < SNAP:
        return length
    # Sums such as 10 cm + 20 cm miss 30 cm by a rounding error, which would leave a sliver between two openings.
    return round(value, 10)


def _cover(name: str, wall: Frame, hole: Hole, law: LawRef, receiver_size: float) -> Surface:
    u0, v0, u1, v1 = hole
    width, height = wall.size
    frame = Frame(
        wall.point(u0, v0),
        (u1 - u0) / width * wall.edge_u,
        (v1 - v0) / height * wall.edge_v,
        (cells_of_size(u1 - u0, receiver_size), cells_of_size(v1 - v0, receiver_size)),
        flipped=wall.flipped,
    )
    # The hole's very corners, which those of the frame miss by a rounding error.
    mesh = rectangle_part(wall.origin, wall.edge_u, wall.edge_v, hole)
    return replace(flat_surface(name, frame, law), mesh=mesh.flipped() if wall.flipped else mesh)
