"""The enclosure as a place: what lies in it, what runs into its walls, and where light can get in."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from sim.geometry.closed import winding_number
from sim.geometry.mesh import FloatArray, Mesh, joined
from sim.materials.law import Law
from sim.materials.surface import Surface
from sim.scene.crossing import TOUCH, bodies_cross
from sim.scene.light_paths import lets_through
from sim.scene.model import Scene
from sim.scene.wall_names import WALLS, Wall

BoolArray = npt.NDArray[np.bool_]

_PLANES = {"floor": (2, 0), "ceiling": (2, 1), "front": (1, 0), "back": (1, 1), "left": (0, 0), "right": (0, 1)}
_SAMPLES = 64
"""Vertices of a body that are looked at in a room from a mesh, where each costs a walk over all its triangles."""


class Room(Protocol):
    """What the checks ask of an enclosure."""

    def holds(self, points: FloatArray) -> BoolArray:
        """Return which points, (n, 3) [m], lie in it or on its walls, (n,)."""

    def crossed_wall(self, body: Mesh) -> str | None:
        """Return the name of a wall that a body runs into, if any."""

    def is_dark_to(self, body: Mesh) -> str | None:
        """Return the name of the wall that shuts off a body outside; None where its light can get in."""

    @property
    def words(self) -> str:
        """Its extent in words."""


@dataclass(frozen=True)
class _Hole:
    """A rectangle of a wall that light passes, and bodies too unless it is covered."""

    corner: tuple[float, float]
    size: tuple[float, float]
    is_open: bool

    def holds(self, points: FloatArray) -> BoolArray:
        low = np.array(self.corner)
        inside: BoolArray = np.all((points >= low - TOUCH) & (points <= low + np.array(self.size) + TOUCH), axis=1)
        return inside


@dataclass(frozen=True)
class _Wall:
    """One wall of a box, in the plane of two axes of the room."""

    name: str
    axis: int
    at: float
    outward: float
    lets_through: bool
    holes: tuple[_Hole, ...]

    def beyond(self, points: FloatArray) -> FloatArray:
        """Return how far points lie beyond the wall's plane, (n,) [m]; negative on the inside."""
        beyond: FloatArray = self.outward * (points[:, self.axis] - self.at)
        return beyond

    def is_crossed(self, body: Mesh, size: FloatArray) -> bool:
        """Whether a body goes through the wall where there is no open hole: is cut just inside it and just outside."""
        return all(self._is_cut(body, size, depth) for depth in (-TOUCH, TOUCH))

    def _is_cut(self, body: Mesh, size: FloatArray, depth: float) -> bool:
        """Whether an edge of a body goes through the plane that lies a little beyond the wall."""
        corners = body.corners
        starts, ends = corners.reshape(-1, 3), np.roll(corners, -1, axis=1).reshape(-1, 3)
        before, after = self.beyond(starts) - depth, self.beyond(ends) - depth
        through = (np.minimum(before, after) < 0.0) & (np.maximum(before, after) > 0.0)
        share = before[through] / (before[through] - after[through])
        points = starts[through] + share[:, None] * (ends[through] - starts[through])
        across = np.delete(points, self.axis, axis=1)
        extent = np.delete(size, self.axis)
        on_wall = np.all((across > TOUCH) & (across < extent - TOUCH), axis=1)
        for hole in self.holes:
            if hole.is_open:
                on_wall &= ~hole.holds(across)
        return bool(np.any(on_wall))


@dataclass(frozen=True)
class BoxRoom:
    """A box from the origin to its size, with holes in its walls."""

    size: FloatArray
    walls: tuple[_Wall, ...]

    def holds(self, points: FloatArray) -> BoolArray:
        """Return which points lie in the box or on its walls."""
        inside: BoolArray = np.all((points >= -TOUCH) & (points <= self.size + TOUCH), axis=1)
        return inside

    def crossed_wall(self, body: Mesh) -> str | None:
        """Return the name of a wall that a body runs into, if any."""
        return next((wall.name for wall in self.walls if wall.is_crossed(body, self.size)), None)

    def is_dark_to(self, body: Mesh) -> str | None:
        """Return the name of a wall that the body lies beyond, if none of those walls lets light through."""
        beyond = [wall for wall in self.walls if wall.beyond(body.vertices).min() > -TOUCH]
        walls = beyond or list(self.walls)
        if any(wall.lets_through or wall.holes for wall in walls):
            return None
        return walls[0].name

    @property
    def words(self) -> str:
        """Its three edges in centimetres."""
        return " x ".join(f"{100.0 * edge:.4g}" for edge in self.size) + " cm"


@dataclass(frozen=True)
class MeshRoom:
    """A room whose walls come from a mesh file."""

    walls: Mesh
    lets_through: bool

    def holds(self, points: FloatArray) -> BoolArray:
        """Return which points the walls go around."""
        low, high = self.walls.bounds
        near = np.all((points >= low - TOUCH) & (points <= high + TOUCH), axis=1)
        return np.array(
            [
                bool(close) and abs(winding_number(self.walls, point)) > 0.5
                for point, close in zip(points, near, strict=True)
            ]
        )

    def crossed_wall(self, body: Mesh) -> str | None:
        """Return the walls' common name if a body runs into them."""
        return "the mesh" if bodies_cross(body, self.walls) else None

    def is_dark_to(self, body: Mesh) -> str | None:
        """Return the walls' common name if they let no light through."""
        return None if self.lets_through else "the mesh"

    @property
    def words(self) -> str:
        """The bounds of its mesh in centimetres."""
        low, high = 100.0 * self.walls.bounds
        return ", ".join(f"{axis} {a:.4g} to {b:.4g}" for axis, a, b in zip("xyz", low, high, strict=True)) + " cm"


def room_of(scene: Scene, surfaces: list[Surface]) -> Room | None:
    """Return the enclosure of a scene as a place; None for free space.

    Parameters
    ----------
    scene : Scene
    surfaces : list of Surface
        Those of its enclosure.
    """
    enclosure = scene.enclosure
    if enclosure is None:
        return None
    if enclosure.size is None or enclosure.walls is None:
        law = scene.law(surfaces[0].law)
        return MeshRoom(joined([surface.mesh for surface in surfaces]), lets_through(law))
    size = np.array(enclosure.size)
    return BoxRoom(size, tuple(_wall(scene, name, scene.law(enclosure.walls.law(name)), size) for name in WALLS))


def _wall(scene: Scene, name: Wall, law: Law, size: FloatArray) -> _Wall:
    axis, end = _PLANES[name]
    openings = () if scene.enclosure is None else scene.enclosure.openings
    holes = (
        _Hole(opening.corner, opening.size, opening.cover is None)
        for opening in openings
        if opening.wall == name and (opening.cover is None or lets_through(scene.law(opening.cover)))
    )
    return _Wall(name, axis, float(end * size[axis]), 1.0 if end else -1.0, lets_through(law), tuple(holes))


def sample_points(mesh: Mesh) -> FloatArray:
    """Return some of the vertices that a mesh uses, spread over it, (n, 3) [m]; all of them where they are few."""
    used = np.unique(mesh.faces)
    step = max(1, len(used) // _SAMPLES)
    points: FloatArray = mesh.vertices[used[::step]]
    return points
