"""A rectangle in space with a grid of cells on it: the receivers of every flat surface."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sim.geometry.mesh import FloatArray

Hole = tuple[float, float, float, float]
"""A rectangle of a frame by two corners, ``(u0, v0, u1, v1)`` [m]."""


@dataclass(frozen=True)
class Frame:
    """A rectangle, cut into cells along its two edges; cell (i, j) has index ``i + shape[0] * j``.

    Attributes
    ----------
    origin, edge_u, edge_v : (3,) float [m]
        Corner and the two edges (perpendicular to each other); the measured side is that of ``edge_u x edge_v``
        unless the frame is flipped.
    shape : (int, int)
        Cells along u and along v.
    holes : tuple of Hole
        Rectangles cut out of it (openings), which do not overlap; they lessen the area of the cells they touch.
    flipped : bool
        True where the measured side is the other one: a ceiling is read from below, yet keeps (x, y) as a floor does.
    """

    origin: FloatArray
    edge_u: FloatArray
    edge_v: FloatArray
    shape: tuple[int, int]
    holes: tuple[Hole, ...] = ()
    flipped: bool = False

    @property
    def size(self) -> tuple[float, float]:
        """Length of the two edges [m]."""
        return float(np.linalg.norm(self.edge_u)), float(np.linalg.norm(self.edge_v))

    @property
    def normal(self) -> FloatArray:
        """Unit normal of the measured side, (3,)."""
        normal = np.cross(self.edge_v, self.edge_u) if self.flipped else np.cross(self.edge_u, self.edge_v)
        unit: FloatArray = normal / np.linalg.norm(normal)
        return unit

    @property
    def tangent(self) -> FloatArray:
        """Unit direction of the first edge, (3,)."""
        unit: FloatArray = self.edge_u / self.size[0]
        return unit

    def point(self, u: float, v: float) -> FloatArray:
        """Return the place at distances u, v [m] along the two edges, (3,) [m]."""
        width, height = self.size
        place: FloatArray = self.origin + u / width * self.edge_u + v / height * self.edge_v
        return place

    @cached_property
    def edges(self) -> tuple[FloatArray, FloatArray]:
        """Cell edges along u, (nu + 1,), and along v, (nv + 1,) [m]."""
        width, height = self.size
        return np.linspace(0.0, width, self.shape[0] + 1), np.linspace(0.0, height, self.shape[1] + 1)

    @cached_property
    def cell_areas(self) -> FloatArray:
        """Area of each cell less its holes, (nu * nv,) [m2]."""
        u, v = self.edges
        areas = np.diff(u)[None, :] * np.diff(v)[:, None]
        for u0, v0, u1, v1 in self.holes:
            across = np.clip(np.minimum(u[1:], u1) - np.maximum(u[:-1], u0), 0.0, None)
            along = np.clip(np.minimum(v[1:], v1) - np.maximum(v[:-1], v0), 0.0, None)
            areas = areas - across[None, :] * along[:, None]
        return np.clip(areas, 0.0, None).ravel()

    @cached_property
    def cell_centres(self) -> FloatArray:
        """Centre of each cell, (nu * nv, 3) [m]."""
        u, v = self.edges
        width, height = self.size
        across = 0.5 * (u[1:] + u[:-1]) / width
        along = 0.5 * (v[1:] + v[:-1]) / height
        grid = across[None, :, None] * self.edge_u + along[:, None, None] * self.edge_v
        return (self.origin + grid).reshape(-1, 3)


def cells_of_size(length: float, size: float) -> int:
    """Return how many cells of about `size` [m] cut an edge of `length` [m] (at least one)."""
    return max(1, round(length / size))
