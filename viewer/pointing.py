"""What lies under the pointer: the first cell or body that a line of sight meets.

Picking by the graphics library would find walls that are left out because they are seen from behind.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sim.analysis.maps import counted
from sim.tally.result import FloatArray, Group, Result
from viewer.beside import WORDS
from viewer.cameras import ANGLE, Camera
from viewer.layers import Layer, Role, is_wall, mapped

OPAQUE: tuple[Role, ...] = ("thing", "lamp", "back")
"""Bodies that one does not see through."""


@dataclass(frozen=True)
class Pointed:
    """What is pointed at.

    Attributes
    ----------
    name : str
    at : (3,) float [m]
    row : int, optional
        Its receiver, or None where nothing is read.
    words : str
        What it is, where nothing is read.
    """

    name: str
    at: FloatArray
    row: int | None
    words: str = ""

    @property
    def place(self) -> str:
        """Name and position in words."""
        x, y, z = 100.0 * self.at
        return f"{self.name}, x {x:.1f}, y {y:.1f}, z {z:.1f} cm"


def line_of_sight(camera: Camera, place: tuple[float, float], aspect: float) -> FloatArray:
    """Return the direction (3,) from a camera through a place in its picture, 0 … 1 from the left and from below."""
    half = np.tan(np.radians(ANGLE / 2))
    across, up = 2.0 * place[0] - 1.0, 2.0 * place[1] - 1.0
    direction: FloatArray = camera.forward + half * (across * aspect * camera.right + up * camera.up)
    return direction


class Scenery:
    """The maps and bodies of a result, for asking what a line of sight meets.

    Parameters
    ----------
    result : Result
    whole : sequence of Layer
    """

    def __init__(self, result: Result, whole: Sequence[Layer]) -> None:
        self._result = result
        self._groups = mapped(result)
        bodies = [layer for layer in whole if layer.role in OPAQUE and layer.mesh.n_cells]
        corners = [np.asarray(one.mesh.points, dtype=np.float64)[one.mesh.regular_faces] for one in bodies]
        self._bodies = bodies
        self._triangles = np.concatenate([np.zeros((0, 3, 3)), *corners])
        self._owner = np.repeat(np.arange(len(bodies)), [len(part) for part in corners])

    def met(self, eye: FloatArray, direction: FloatArray) -> Pointed | None:
        """Return what a line from a point (3,) [m] meets first, or None."""
        found = [self._on_map(group, eye, direction) for group in self._groups] + [self._on_body(eye, direction)]
        near = [one for one in found if one is not None]
        return min(near, key=lambda one: one[0])[1] if near else None

    def _on_map(self, group: Group, eye: FloatArray, direction: FloatArray) -> tuple[float, Pointed] | None:
        origin, edge_u, edge_v = (np.array(part) for part in (group.origin, group.edge_u, group.edge_v))
        normal = self._result.normal[group.first]
        towards = float(direction @ normal)
        distance = float((origin - eye) @ normal) / towards if towards else -1.0
        if distance <= 0.0:
            return None
        at = eye + distance * direction
        u, v = (float((at - origin) @ edge / (edge @ edge)) for edge in (edge_u, edge_v))
        if not (0.0 <= u < 1.0 and 0.0 <= v < 1.0):
            return None
        cell = int(u * group.shape[0]) + group.shape[0] * int(v * group.shape[1])
        if not counted(self._result.area[group.rows])[cell]:
            return None
        if towards < 0.0:
            return distance, Pointed(group.name, at, group.first + cell)
        return None if is_wall(group.name) else (distance, Pointed(group.name, at, None, WORDS["back"]))

    def _on_body(self, eye: FloatArray, direction: FloatArray) -> tuple[float, Pointed] | None:
        """Intersect all triangles at once (T. Möller, B. Trumbore, J. Graphics Tools 2, 1997, 21-28)."""
        a, b, c = (self._triangles[:, k] for k in range(3))
        first, second = b - a, c - a
        p = np.cross(direction, second)
        with np.errstate(divide="ignore", invalid="ignore"):
            inverse = 1.0 / np.einsum("ij,ij->i", first, p)
            from_a = eye - a
            u = np.einsum("ij,ij->i", from_a, p) * inverse
            q = np.cross(from_a, first)
            v = (q @ direction) * inverse
            distance = np.einsum("ij,ij->i", second, q) * inverse
            hit = np.flatnonzero((u >= 0) & (v >= 0) & (u + v <= 1) & (distance > 0))
        if not hit.size:
            return None
        nearest = int(hit[np.argmin(distance[hit])])
        body = self._bodies[self._owner[nearest]]
        at = eye + distance[nearest] * direction
        return float(distance[nearest]), Pointed(body.name, at, None, WORDS[body.role])
