"""Names and lengths of an enclosure's sides, written along the edges that bound it in the picture."""

import itertools
from dataclasses import dataclass

import numpy as np
import pyvista as pv

from sim.tally.result import FloatArray
from viewer.callouts import Box, text_size
from viewer.cameras import Camera
from viewer.flat import QUIET, add_text


@dataclass(frozen=True)
class Edge:
    """An edge of a box: the axis that it runs along, its ends (2, 3) [m], and its ends along the other axes, 0 or 1."""

    axis: int
    ends: FloatArray
    sides: tuple[int, int, int]

    @property
    def middle(self) -> FloatArray:
        """Its middle, (3,) [m]."""
        place: FloatArray = self.ends.mean(axis=0)
        return place

    @property
    def length(self) -> str:
        """Its length."""
        return f"{100.0 * float(np.ptp(self.ends, axis=0).max()):.4g} cm"

    @property
    def words(self) -> str:
        """Name of its side, if it has one, and its length."""
        if self.axis == 2:
            return self.length
        side = ("front", "back")[self.sides[1]] if self.axis == 0 else ("left", "right")[self.sides[0]]
        return f"{side}, {self.length}"


def edges_of(room: FloatArray) -> list[Edge]:
    """Return the twelve edges of a box given by its lowest and highest corner, (2, 3) [m]."""
    edges = []
    for axis in range(3):
        for a, b in itertools.product((0, 1), repeat=2):
            low = [a, b]
            low.insert(axis, 0)
            high = [a, b]
            high.insert(axis, 1)
            ends = np.array([[room[side][k] for k, side in enumerate(one)] for one in (low, high)])
            edges.append(Edge(axis, ends, (low[0], low[1], low[2])))
    return edges


def rim(room: FloatArray, camera: Camera) -> list[Edge]:
    """Return the edges that bound a box in a picture: one of the two sides that meet there is seen from outside."""

    def turned_to_eye(axis: int, side: int) -> bool:
        return bool((camera.eye[axis] - room[side][axis]) * (1 if side else -1) > 0)

    return [
        edge
        for edge in edges_of(room)
        if len({turned_to_eye(axis, edge.sides[axis]) for axis in range(3) if axis != edge.axis}) == 2
    ]


def add_sides(
    renderer: pv.Renderer, room: FloatArray, camera: Camera, size: tuple[int, int], letters: int
) -> list[Box]:
    """Write name and length of one bounding edge along each axis that is seen at some length.

    Parameters
    ----------
    renderer : pyvista.Renderer
    room : (2, 3) float [m]
        Lowest and highest corner.
    camera : Camera
    size : (int, int) [px]
        Of the renderer's picture.
    letters : int [px]
        Height of the type.

    Returns
    -------
    list of Box
        Where the words stand [px].
    """
    taken = []
    scale = np.array(size, dtype=np.float64)
    centre = camera.project(room.mean(axis=0)[None, :], size[0] / size[1])[0] * scale
    for axis in range(3):
        found = [
            (edge, camera.project(edge.ends, size[0] / size[1]) * scale)
            for edge in rim(room, camera)
            if edge.axis == axis
        ]
        found = [(edge, seen) for edge, seen in found if np.linalg.norm(seen[1] - seen[0]) > 6.0 * letters]
        if not found:
            continue
        edge, seen = min(found, key=lambda item: _low_or_left(item[1], axis))
        along = (seen[1] - seen[0]) / np.linalg.norm(seen[1] - seen[0])
        out = np.array([-along[1], along[0]])
        out = out if out @ (seen.mean(axis=0) - centre) > 0 else -out
        depth = float((edge.middle - camera.eye) @ camera.forward)
        pixel = camera.length_of_pixel(size[1]) * depth / camera.distance
        place = edge.middle + letters * pixel * (out[0] * camera.right + out[1] * camera.up)
        across, up = (0.5 if abs(part) < 0.35 else 0.0 if part > 0 else 1.0 for part in out)
        # Beside an upright edge there is room for its length alone.
        words = edge.length if _upright(seen) else edge.words
        add_text(renderer, words, place, height=letters, colour=QUIET, across=across, up=up)
        x, y = seen.mean(axis=0) + letters * out
        width, height = text_size(words, letters)
        left, low = x - across * width, y - up * height
        taken.append(Box(left, low, left + width, low + height))
    return taken


def _low_or_left(seen: FloatArray, axis: int) -> float:
    """Return what is least for the edge that is written on: the lowest, or the leftmost of upright ones."""
    x, y = seen.mean(axis=0)
    return float(x if axis == 2 or _upright(seen) else y)


def _upright(seen: FloatArray) -> bool:
    return bool(abs(seen[1, 1] - seen[0, 1]) > 3.0 * abs(seen[1, 0] - seen[0, 0]))
