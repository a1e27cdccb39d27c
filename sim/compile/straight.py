"""Cells of flat surfaces at which light straight from lamps is found by rays to them, as at free-standing receivers.

A few rays to scrambled points of a lamp tell its light on a cell far better than the photons that happen to hit it. So
photons bring to these cells only what was scattered on the way. Close to a lamp the few nearest of its points give most
of the light and rays vary wildly, while photons hit in plenty: there photons bring all.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from sim.compile.surfaces import Catalogue
from sim.geometry.frame import Frame
from sim.geometry.mesh import FloatArray, IntArray
from sim.transport.arrays import Emitters, Receivers

BoolArray = npt.NDArray[np.bool_]

TOUCHING = 1e-6
"""What lies this close [m] to a surface's plane may cover it. There photons decide, which meet only the upper one."""


@dataclass(frozen=True)
class StraightCells:
    """Rows of the cells, (k,), and the parallelograms of each."""

    rows: IntArray
    receivers: Receivers


MOST_PAIRS = 1 << 18
"""Cells times faces of a lamp that are looked at in one go."""
MOST_FACES = 512
"""Of a lamp with more lit faces, every so many are looked at to tell how far it is."""


def straight_cells(
    catalogue: Catalogue, corners: FloatArray, of_triangle: IntArray, emitters: Emitters
) -> StraightCells:
    """Return the cells of flat surfaces that are whole, that nothing touches, and that are not close to a lamp.

    Parameters
    ----------
    catalogue : Catalogue
    corners : (n, 3, 3) float [m]
        Of all triangles, in the order of the catalogue.
    of_triangle : (n,) int
        The row of the surface that each belongs to.
    emitters : Emitters
    """
    lamps = _faces(emitters)
    rows, parts = [np.zeros(0, dtype=np.int64)], [np.zeros((0, 4, 3))]
    for row, entry in enumerate(catalogue.entries):
        frame = entry.surface.frame
        if frame is None or entry.first < 0:
            continue
        keep = _whole(frame) & ~_touched(frame, corners, of_triangle != row) & _far(frame, lamps)
        rows.append(entry.first + np.flatnonzero(keep))
        parts.append(_parallelograms(frame)[keep])
    stacked = np.concatenate(parts)
    return StraightCells(
        rows=np.concatenate(rows),
        receivers=Receivers(*(np.ascontiguousarray(stacked[:, part]) for part in range(4))),
    )


def _whole(frame: Frame) -> BoolArray:
    u, v = frame.edges
    full = np.outer(np.diff(v), np.diff(u)).ravel()
    return frame.cell_areas > (1.0 - 1e-9) * full


def _touched(frame: Frame, corners: FloatArray, others: BoolArray) -> BoolArray:
    """Return which cells lie under the outline of another surface's triangle in the surface's own plane, (cells,)."""
    flat = others & (np.abs(corners @ frame.normal - frame.origin @ frame.normal) < TOUCHING).all(axis=1)
    touched = np.zeros((frame.shape[1], frame.shape[0]), dtype=np.bool_)
    u, v = frame.edges
    along_u = (corners[flat] - frame.origin) @ frame.edge_u / frame.size[0]
    along_v = (corners[flat] - frame.origin) @ frame.edge_v / frame.size[1]
    for places_u, places_v in zip(along_u, along_v, strict=True):
        across = (u[1:] > places_u.min() - TOUCHING) & (u[:-1] < places_u.max() + TOUCHING)
        deep = (v[1:] > places_v.min() - TOUCHING) & (v[:-1] < places_v.max() + TOUCHING)
        touched |= deep[:, None] & across[None, :]
    return touched.ravel()


class _Faces(NamedTuple):
    """The faces that tell how far a lamp is, and its lit area.

    Corners (f, 3), both edges (f, 2, 3) and their pseudo-inverses (f, 3, 2); lowest and highest place, (2, 3).
    """

    corner: FloatArray
    edges: FloatArray
    inverse: FloatArray
    box: FloatArray
    area: float


def _far(frame: Frame, lamps: Sequence[_Faces]) -> BoolArray:
    """Return which cells are so far from every lamp that a disc of that radius outdoes its lit area, (cells,)."""
    centres = frame.cell_centres
    far = np.ones(len(centres), dtype=np.bool_)
    for lamp in lamps:
        aside = np.maximum(np.maximum(lamp.box[0] - centres, centres - lamp.box[1]), 0.0)
        # Only cells that are close to the box about a lamp can be close to one of its faces.
        near = np.flatnonzero(far & (np.pi * (aside**2).sum(axis=1) <= (1.0 + 1e-9) * lamp.area))
        step = max(1, MOST_PAIRS // len(lamp.corner))
        for start in range(0, len(near), step):
            rows = near[start : start + step]
            far[rows] = (np.pi * _squared_distances(centres[rows], lamp) > lamp.area).all(axis=1)
    return far


def _squared_distances(points: FloatArray, lamp: _Faces) -> FloatArray:
    """Return the squared distance from points, (k, 3), to each face of a lamp, (k, f) [m²]."""
    offset = points[:, None] - lamp.corner
    share = np.clip(np.einsum("kfi,fij->kfj", offset, lamp.inverse), 0.0, 1.0)
    squared: FloatArray = ((offset - np.einsum("kfj,fji->kfi", share, lamp.edges)) ** 2).sum(axis=2)
    return squared


def _faces(emitters: Emitters) -> list[_Faces]:
    """Return the faces of each lamp that tell how far it is."""
    found = []
    for lamp, area in enumerate(emitters.area):
        first, last = int(emitters.first[lamp]), int(emitters.first[lamp + 1])
        rows = slice(first, last, max(1, (last - first) // MOST_FACES))
        corner, edges = emitters.corner[rows], np.stack([emitters.edge1[rows], emitters.edge2[rows]], axis=1)
        ends = np.concatenate([corner, corner + edges[:, 0], corner + edges[:, 1], corner + edges.sum(axis=1)])
        box = np.stack([ends.min(axis=0), ends.max(axis=0)])
        inverse = np.asarray(np.linalg.pinv(edges), dtype=np.float64)
        found.append(_Faces(corner, edges, inverse, box, float(area)))
    return found


def _parallelograms(frame: Frame) -> FloatArray:
    """Return origin, both edges and normal of each cell, (cells, 4, 3)."""
    du, dv = frame.edge_u / frame.shape[0], frame.edge_v / frame.shape[1]
    count = frame.shape[0] * frame.shape[1]
    origin = frame.cell_centres - 0.5 * (du + dv)
    return np.stack([origin, *(np.tile(part, (count, 1)) for part in (du, dv, frame.normal))], axis=1)
