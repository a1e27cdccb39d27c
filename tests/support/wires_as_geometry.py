"""Screens of real round wires: triangles for the program's rays, with bounces off the wires done here, in numpy.

Nothing of the program's screen law is used. Of each ray it is kept how often it met a wire and to which side it left,
so that one trace tells for every reflectance.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.transport.arrays import Tree
from sim.transport.tree_build import build_tree
from sim.transport.tree_traverse import MISS, closest_hits

FloatArray = npt.NDArray[np.float64]
SIDES = 32
MOST_HITS = 40


@dataclass(frozen=True)
class Wires:
    """Wires around the origin, which lies in the middle between four of them; the screen's normal is z.

    Attributes
    ----------
    corners : (n, 3, 3) float [m]
        Triangles.
    axis, along : (n, 3) float
        A point of each triangle's axis [m] and its unit direction, for the normals of round wires.
    pitch : (float, float) [m]
        Of the wires along x, and along y.
    thickness : float [m]
    """

    corners: FloatArray
    axis: FloatArray
    along: FloatArray
    pitch: tuple[float, float]
    thickness: float

    def tree(self) -> Tree:
        return build_tree(self.corners)


@dataclass(frozen=True)
class Tracks:
    """Shares of rays by number of hits (MOST_HITS + 1,) that left on the side of arrival, and on the far side."""

    back: FloatArray
    forward: FloatArray

    @property
    def direct(self) -> float:
        return float(self.forward[0])

    def shares(self, reflectance: float) -> tuple[float, float]:
        """Share that wires send back, and that they send on, by their reflectance."""
        powers = reflectance ** np.arange(len(self.back))
        return float(self.back[1:] @ powers[1:]), float(self.forward[1:] @ powers[1:])


def straight_wires(pitch: tuple[float, float], wire: tuple[float, float], count: int = 10) -> Wires:
    """Two layers of straight wires that touch, the ones along x above those along y."""
    pieces = []
    for layer, height in ((0, 0.5 * wire[0]), (1, -0.5 * wire[1])):
        for i in range(-count, count):
            line = np.zeros((2, 3))
            line[:, layer] = np.array([-1.0, 1.0]) * count * pitch[1 - layer]
            line[:, 1 - layer], line[:, 2] = (i + 0.5) * pitch[layer], height
            pieces.append(_round(line, 0.5 * wire[layer]))
    return _joined(pieces, pitch, sum(wire))


def woven_wires(pitch: float, wire: float, over: int, count: int = 8, steps: int = 8) -> Wires:
    """Equal wires crimped along half waves, each over and under `over` others: 1 is plain weave, 2 is twill."""
    pieces = []
    for layer in range(2):
        for i in range(-count, count):
            along = np.linspace(-count, count, 2 * count * steps + 1)
            at = np.floor(along - 0.5)
            part = 0.5 - 0.5 * np.cos(np.pi * (along - 0.5 - at))
            low, high = _up(at + i, over), _up(at + 1 + i, over)
            line = np.zeros((len(along), 3))
            line[:, layer], line[:, 1 - layer] = along * pitch, (i + 0.5) * pitch
            line[:, 2] = (0.5 if layer == 0 else -0.5) * wire * (low + part * (high - low))
            pieces.append(_round(line, 0.5 * wire))
    return _joined(pieces, (pitch, pitch), 2.0 * wire)


def _up(diagonal: FloatArray, over: int) -> FloatArray:
    """1 where the wire along x lies above the crossing one, -1 where below."""
    return np.where(np.mod(diagonal, 2 * over) < over, 1.0, -1.0)


def _round(line: FloatArray, radius: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Triangles around a line in a plane of z, with their axes; a polygon that shades on average what a circle does."""
    sideways = np.cross(line[-1] - line[0], [0.0, 0.0, 1.0])
    sideways /= np.linalg.norm(sideways)
    tangent = np.gradient(line, axis=0)
    upright = np.cross(sideways, tangent)
    upright /= np.linalg.norm(upright, axis=1, keepdims=True)
    angle = 2.0 * np.pi * np.arange(SIDES + 1) / SIDES
    size = radius * np.pi / (SIDES * np.sin(np.pi / SIDES))
    rings = line[:, None] + size * (
        np.cos(angle)[None, :, None] * sideways + np.sin(angle)[None, :, None] * upright[:, None]
    )
    a, b, c, d = rings[:-1, :-1], rings[:-1, 1:], rings[1:, 1:], rings[1:, :-1]
    corners = np.stack([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)], axis=2).reshape(-1, 3, 3)
    piece = np.diff(line, axis=0)
    piece /= np.linalg.norm(piece, axis=1, keepdims=True)
    return corners, np.repeat(line[:-1], 2 * SIDES, axis=0), np.repeat(piece, 2 * SIDES, axis=0)


def _joined(pieces: list[tuple[FloatArray, FloatArray, FloatArray]], pitch: tuple[float, float], high: float) -> Wires:
    corners, axis, along = (np.concatenate(rows) for rows in zip(*pieces, strict=True))
    return Wires(corners, axis, along, pitch, high)


def trace(wires: Wires, direction: FloatArray, rays: int, seed: int, *, mirror: bool = False, cells: int = 1) -> Tracks:
    """Follow rays that arrive evenly over `cells` meshes of the screen along a direction, off white wires.

    Parameters
    ----------
    direction : (3,) float
        Unit vector that points down.
    mirror : bool
        Whether wires are smooth mirrors; matt by default.
    """
    rng = np.random.Generator(np.random.PCG64(seed))
    return _follow(wires, np.tile(direction, (rays, 1)), rng, mirror, cells)


def trace_matt(wires: Wires, rays: int, seed: int) -> Tracks:
    """Follow rays that arrive over one mesh by the cosine law from above, off matt white wires."""
    rng = np.random.Generator(np.random.PCG64(seed))
    return _follow(wires, _matt(np.tile([0.0, 0.0, -1.0], (rays, 1)), rng), rng, False, 1)


def _follow(wires: Wires, d: FloatArray, rng: np.random.Generator, mirror: bool, cells: int) -> Tracks:
    rays = len(d)
    o = np.zeros((rays, 3))
    o[:, :2] = cells * (rng.random((rays, 2)) - 0.5) * np.array(wires.pitch[::-1])
    o -= 3.0 * wires.thickness / np.abs(d[:, 2:]) * d
    tree, hits = wires.tree(), np.zeros(rays, dtype=np.int64)
    tracks = Tracks(np.zeros(MOST_HITS + 1), np.zeros(MOST_HITS + 1))
    for _ in range(MOST_HITS):
        distance, triangle = np.full(len(o), np.nan), np.full(len(o), -9)
        closest_hits(tree, o, d, distance, triangle)
        free = triangle == MISS
        tracks.forward[:] += np.bincount(hits[free & (d[:, 2] < 0.0)], minlength=MOST_HITS + 1) / rays
        tracks.back[:] += np.bincount(hits[free & (d[:, 2] >= 0.0)], minlength=MOST_HITS + 1) / rays
        o, d, hits = o[~free] + distance[~free, None] * d[~free], d[~free], hits[~free] + 1
        if len(o) == 0:
            break
        normal = _outward(wires, triangle[~free], o)
        d = d - 2.0 * (d * normal).sum(axis=1, keepdims=True) * normal if mirror else _matt(normal, rng)
        # Polygon and circle differ by a thousandth of the radius: step over it.
        o = o + 2e-3 * wires.thickness * normal
    return tracks


def _outward(wires: Wires, triangle: npt.NDArray[np.int64], p: FloatArray) -> FloatArray:
    away = p - wires.axis[triangle]
    along = wires.along[triangle]
    away -= (away * along).sum(axis=1, keepdims=True) * along
    normal: FloatArray = away / np.linalg.norm(away, axis=1, keepdims=True)
    return normal


def _matt(normal: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Directions by the cosine law: the normal plus a point of the unit sphere."""
    ball = rng.normal(size=normal.shape)
    line = normal + ball / np.linalg.norm(ball, axis=1, keepdims=True)
    unit: FloatArray = line / np.linalg.norm(line, axis=1, keepdims=True)
    return unit
