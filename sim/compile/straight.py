"""Cells of flat surfaces at which light straight from lamps is found by rays to them, as at free-standing receivers.

A few rays to scrambled points of a lamp tell its light on a cell far better than the photons that happen to hit it. So
photons bring to these cells only what was scattered on the way. Close to a lamp the few nearest of its points give most
of the light and rays vary wildly, while photons hit in plenty: there photons bring all.
"""

from collections.abc import Sequence
from dataclasses import dataclass

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


Face = tuple[FloatArray, FloatArray, FloatArray, float]
"""A face of a lamp: corner (3,), both edges (2, 3), their pseudo-inverse (3, 2), and the lit area of the lamp."""
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
    faces = _faces(emitters)
    rows, parts = [np.zeros(0, dtype=np.int64)], [np.zeros((0, 4, 3))]
    for row, entry in enumerate(catalogue.entries):
        frame = entry.surface.frame
        if frame is None or entry.first < 0:
            continue
        keep = _whole(frame) & ~_touched(frame, corners, of_triangle != row) & _far(frame, faces)
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


def _far(frame: Frame, faces: Sequence[Face]) -> BoolArray:
    """Return which cells are so far from every lamp that a disc of that radius outdoes its lit area, (cells,)."""
    far = np.ones(frame.shape[0] * frame.shape[1], dtype=np.bool_)
    for corner, edges, inverse, area in faces:
        offset = frame.cell_centres - corner
        share = np.clip(offset @ inverse, 0.0, 1.0)
        far &= np.pi * ((offset - share @ edges) ** 2).sum(axis=1) > area
    return far


def _faces(emitters: Emitters) -> list[Face]:
    """Return the faces of lamps that tell how far these are."""
    found: list[Face] = []
    for lamp, area in enumerate(emitters.area):
        first, last = int(emitters.first[lamp]), int(emitters.first[lamp + 1])
        rows = slice(first, last, max(1, (last - first) // MOST_FACES))
        edges = np.stack([emitters.edge1[rows], emitters.edge2[rows]], axis=1)
        found += [
            (*face, float(area)) for face in zip(emitters.corner[rows], edges, np.linalg.pinv(edges), strict=True)
        ]
    return found


def _parallelograms(frame: Frame) -> FloatArray:
    """Return origin, both edges and normal of each cell, (cells, 4, 3)."""
    du, dv = frame.edge_u / frame.shape[0], frame.edge_v / frame.shape[1]
    count = frame.shape[0] * frame.shape[1]
    origin = frame.cell_centres - 0.5 * (du + dv)
    return np.stack([origin, *(np.tile(part, (count, 1)) for part in (du, dv, frame.normal))], axis=1)
