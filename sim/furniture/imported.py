"""A part whose shape comes from a file."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from sim.furniture.kept import Kept
from sim.furniture.mesh_file import MeshFile, MeshPath, Unit, gated, unit_fault
from sim.furniture.part_base import PartBase
from sim.geometry.mesh import FloatArray, IntArray, Mesh
from sim.geometry.patches import patches, split_to_size
from sim.materials.surface import Surface
from sim.units import Angle, Position

if TYPE_CHECKING:
    import trimesh

LONGEST_EDGE = 1.5
"""Longest edge of a triangle over the size of a receiver: half an equilateral one is then about a receiver's area."""
MOST_KEPT, MOST_KEPT_TO_GO_ON = 500_000, 4_000_000
"""Triangles of meshes that are kept: of one run, and where a scene is traced again and again."""

_READ = Kept[MeshFile](lambda found: len(found.mesh.faces), MOST_KEPT)
_CUT = Kept[tuple[Mesh, IntArray]](lambda cut: len(cut[0].faces), 0)


def keep_meshes() -> None:
    """From now on keep large meshes, too, and what becomes of them in a scene: it will be traced again and again."""
    _READ.most = _CUT.most = MOST_KEPT_TO_GO_ON


def read_mesh(path: Path, unit: str | None, scale: float = 1.0) -> MeshFile:
    """Return what a mesh file holds, in metres, after the checks of the gate; not to be written to.

    Parameters
    ----------
    path : Path
        STL, OBJ, PLY or GLB.
    unit : str or None
        Of its coordinates; None for GLB, whose format states metres.
    scale : float
        Factor on top of the unit.

    Raises
    ------
    ValueError
        One line on what is wrong with the file or the unit.
    OSError
        If the file cannot be read.
    """
    fault = unit_fault(path, unit)
    if fault is not None:
        raise ValueError(fault)
    return _READ.of(path, (unit, scale), lambda: _read(path, unit, scale))


def _read(path: Path, unit: str | None, scale: float) -> MeshFile:
    if path.stat().st_size == 0:
        raise ValueError(f"'{path.name}' is empty; export it again")
    import trimesh  # here, not above: it takes most of a second, which only scenes with mesh files should wait for

    try:
        # Without processing: what the reader would merge or drop in silence is for the gate to see.
        with np.errstate(all="ignore"):  # of numbers that are not finite the gate tells, not numpy
            scene = trimesh.load_scene(path, process=False)
        one = list(scene.geometry.values()) if len(scene.graph.nodes_geometry) == 1 else []
        # A mesh that stands where its file has it is taken as it is: three copies of it are made otherwise.
        as_is = len(one) == 1 and isinstance(one[0], trimesh.Trimesh) and _stays(scene)
        loaded = one[0] if as_is else scene.to_mesh()
    except Exception as error:  # the readers of broken files fail in any way at all
        raise ValueError(f"'{path.name}' cannot be read as a mesh ({_one_line(error)}); export it again") from error
    return gated(path, np.array(loaded.vertices, dtype=np.float64), np.array(loaded.faces, dtype=np.int64), unit, scale)


def _stays(scene: "trimesh.Scene") -> bool:
    """Return whether the one geometry of a scene is neither turned nor moved in it."""
    (name,) = scene.graph.nodes_geometry
    return np.array_equal(scene.graph.get(name)[0], np.eye(4))


class Imported(PartBase):
    """A part from a mesh file: STL, OBJ, PLY or GLB.

    =========  ==============================================================  ==================
    key        meaning                                                         unit or default
    =========  ==============================================================  ==================
    file       the mesh file, looked up beside the scene                       path
    unit       mm | cm | m | in | ft, of its coordinates; not for GLB
    scale      factor on top of the unit                                       1
    turn       angles about x, then y, then z, about the file's origin         three angles, 0 deg
    at         where the file's origin comes to lie                            three lengths, 0 cm
    =========  ==============================================================  ==================

    All parts also have: name, law, reachable (default true).

    Example::

        [[parts]]
        name = "root"
        kind = "mesh"
        file = "root.stl"
        unit = "mm"
        at = ["40 cm", "20 cm", "0 cm"]
        turn = ["0 deg", "0 deg", "90 deg"]
        law = "cork"

    Notes
    -----
    The file's axes are taken as they are, z up. Files whose y is up, as GLB files are, stand upright after
    ``turn = ["90 deg", "0 deg", "0 deg"]``. Seen against the axis, a positive angle turns anticlockwise.

    Nothing is mended in silence: files without triangles, with missing ones, with coordinates that are no numbers or
    of an absurd size are refused; what else is odd stands in `description`. A watertight mesh is a solid, read from
    outside. Any other is a thin sheet, read on its fronts, and may let light in where it has gaps.
    """

    kind: Literal["mesh"]
    file: MeshPath
    unit: Unit | None = Field(default=None, description="of the file's coordinates; not for GLB, which is in metres")
    scale: Annotated[float, Field(gt=0.0)] = 1.0
    turn: tuple[Angle, Angle, Angle] = (0.0, 0.0, 0.0)
    at: Position = (0.0, 0.0, 0.0)

    @model_validator(mode="after")
    def _unit_given(self) -> "Imported":
        fault = unit_fault(self.file, self.unit)
        if fault is not None:
            raise ValueError(fault)
        return self

    def surfaces(self, receiver_size: float) -> list[Surface]:
        """Return its one surface, with patches of about a size [m].

        Raises
        ------
        ValueError
            If the file cannot be used.
        """
        found = read_mesh(self.file, self.unit, self.scale)
        how = (self.unit, self.scale, self.turn, self.at, receiver_size)
        mesh, ids = _CUT.of(self.file, how, lambda: self._cut(found, receiver_size))
        return [
            Surface(
                name=self.name,
                mesh=mesh,
                law=self.law,
                patches=ids,
                closed=found.watertight,
                reachable=self.reachable,
            )
        ]

    def _cut(self, found: MeshFile, receiver_size: float) -> tuple[Mesh, IntArray]:
        """Return its mesh where it stands, cut to size, and the patch of each triangle."""
        placed = found.mesh.moved(rotation(self.turn), np.array(self.at))
        try:
            mesh = split_to_size(placed, LONGEST_EDGE * receiver_size)
        except ValueError as error:
            raise ValueError(f"'{found.name}' is {found.size} m; are 'unit' and 'scale' right? {error}") from None
        return mesh, patches(mesh, receiver_size)

    def description(self) -> str:
        """Return one line on the file: its triangles, its size, whether it is watertight, what is odd about it.

        Raises
        ------
        ValueError
            If the file cannot be used.
        """
        return read_mesh(self.file, self.unit, self.scale).note()


def rotation(turn: tuple[float, float, float]) -> FloatArray:
    """Return the matrix that turns about the fixed axes x, then y, then z, by three angles [rad], (3, 3)."""
    matrix = np.eye(3)
    for axis, angle in enumerate(turn):
        i, j = (axis + 1) % 3, (axis + 2) % 3
        step = np.eye(3)
        step[i, i] = step[j, j] = np.cos(angle)
        step[j, i] = np.sin(angle)
        step[i, j] = -np.sin(angle)
        matrix = step @ matrix
    return matrix


def _one_line(error: Exception) -> str:
    return " ".join(str(error).split())[:120] or type(error).__name__
