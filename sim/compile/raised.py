"""Receivers over a surface that is not flat, wherever it looks upwards.

Each patch is parted into leaves of triangles that look nearly one way, and each leaf is read all over a rectangle at
the height of an animal's back. That has the centre and the spread of the leaf's triangles, each lifted along its own
normal, so its mean is that over the leaf wherever the light bends no more than a parabola does there. One point over
the middle of each patch is not enough: on a branch of 2.5 cm, 2 cm over the wood, they were 7 % above the mean over its
upper side looking up, 70 % looking as the wood does, and for an animal that lies on it all but one were inside.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from sim.geometry.mesh import FloatArray, IntArray, Mesh
from sim.materials.surface import Surface

LEAST_UP = 1e-6
"""What looks up by less is upright, but for rounding."""
BENT = 2e-3
"""By so much the mean normal of a leaf may be shorter than one: light on the leaf's mean normal is at most so much
more than on the leaf."""
BENT_IN_REACH = 2e-2
"""The same where only the highest place is looked for, which is then read up to so much too high."""
MOST_LEAVES = 500
"""A surface is parted into so many leaves, the most bent ones first; into more only if it has as many patches."""
CLEAR = 1e-6
"""A rectangle lies so far [m] over all of its own leaf at least, so that this does not shade it."""


class Raised(NamedTuple):
    """Receivers over a surface: parallelograms, unit normals, (n, 3) each, and the area (n,) [m2] below each."""

    origin: FloatArray
    edge_u: FloatArray
    edge_v: FloatArray
    normal: FloatArray
    area: FloatArray


def raised_over(surface: Surface, height: float, bent: float = BENT) -> Raised:
    """Return receivers at a height [m] over all of a surface that looks upwards; each looks as its leaf does.

    `bent` is by how much the mean normal of a leaf may be shorter than one.
    """
    upper = surface.mesh.area_vectors[:, 2] > LEAST_UP * surface.mesh.areas
    mesh = Mesh(surface.mesh.vertices, surface.mesh.faces[upper])
    if not len(mesh.faces):
        nothing = np.zeros((0, 3))
        return Raised(nothing, nothing, nothing, nothing, np.zeros(0))
    patch = np.zeros(len(mesh.faces), dtype=np.int64) if surface.patches is None else surface.patches[upper]
    return _rectangles(mesh, leaves(mesh, patch, bent), height)


def leaves(mesh: Mesh, patch: IntArray, bent: float = BENT) -> IntArray:
    """Return the leaf of each triangle, (m,) int, 0 … n - 1; all triangles of one are of one patch."""
    leaf, normals = np.unique(patch, return_inverse=True)[1].reshape(-1), mesh.normals
    members = np.split(np.argsort(leaf, kind="stable"), np.cumsum(np.bincount(leaf))[:-1])
    excess = [_excess(mesh, rows, bent) for rows in members]
    while len(members) < MOST_LEAVES:
        worst = int(np.argmax(excess))
        if excess[worst] <= 0.0:
            break
        rows = members[worst]
        first = _one_side(normals[rows], mesh.areas[rows])
        leaf[rows[~first]] = len(members)
        members[worst] = rows[first]
        members.append(rows[~first])
        excess[worst] = _excess(mesh, members[worst], bent)
        excess.append(_excess(mesh, members[-1], bent))
    return leaf


def _excess(mesh: Mesh, rows: IntArray, bent: float) -> float:
    """Return by what area [m2] the sum of the vectors of some triangles falls shorter than allowed."""
    area = float(mesh.areas[rows].sum())
    return area * (1.0 - bent) - float(np.linalg.norm(mesh.area_vectors[rows].sum(axis=0)))


def _one_side(normals: FloatArray, areas: FloatArray) -> npt.NDArray[np.bool_]:
    """Return which of some triangles that look several ways belong together: on one side of the mean normal."""
    mean = np.average(normals, axis=0, weights=areas)
    spread = np.average((normals - mean) ** 2, axis=0, weights=areas)
    axis = int(np.argmax(spread))
    below: npt.NDArray[np.bool_] = normals[:, axis] < mean[axis]
    return below


def _rectangles(mesh: Mesh, leaf: IntArray, height: float) -> Raised:
    """Return a rectangle over each leaf."""
    area: FloatArray = np.bincount(leaf, weights=mesh.areas).astype(np.float64)
    normal = _sums(leaf, mesh.area_vectors)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    raised = mesh.corners + height * mesh.normals[:, None, :]
    centre = _sums(leaf, mesh.areas[:, None] * raised.mean(axis=1)) / area[:, None]
    edge_u, edge_v = _edges(raised - centre[leaf][:, None, :], mesh.areas, leaf, normal, area)
    tops = np.full(len(area), -np.inf)
    np.maximum.at(
        tops, leaf, np.einsum("mck,mk->mc", mesh.corners - centre[leaf][:, None, :], normal[leaf]).max(axis=1)
    )
    lifted = centre + np.maximum(0.0, tops + CLEAR)[:, None] * normal
    return Raised(lifted - 0.5 * (edge_u + edge_v), edge_u, edge_v, normal, area)


def _sums(leaf: IntArray, rows: FloatArray) -> FloatArray:
    return np.stack([np.bincount(leaf, weights=column) for column in rows.T], axis=1)


def _edges(
    corners: FloatArray, areas: FloatArray, leaf: IntArray, normal: FloatArray, area: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return edges of rectangles square to the normals that have the second moments of the leaves, (n, 3) each.

    Parameters
    ----------
    corners : (m, 3, 3) float [m]
        Of the triangles, from the centre of their leaf.

    Notes
    -----
    The mean of a product of coordinates over a triangle of the corners a, b, c and the centre g is a twelfth of
    ``aa + bb + cc + 9 gg``, over a rectangle a twelfth of the squares of its edges.
    """
    along = np.cross(normal, np.eye(3)[np.argmin(np.abs(normal), axis=1)])
    along /= np.linalg.norm(along, axis=1)[:, None]
    across = np.cross(normal, along)
    flat = np.stack([np.einsum("mck,mk->mc", corners, axis[leaf]) for axis in (along, across)], axis=2)
    middle = flat.mean(axis=1)
    moments = np.einsum("mci,mcj->mij", flat, flat) + 9.0 * np.einsum("mi,mj->mij", middle, middle)
    squares = _sums(leaf, (areas[:, None, None] * moments).reshape(-1, 4)) / area[:, None]
    uu, uv, vv = squares[:, 0], squares[:, 1], squares[:, 3]
    half, turn = 0.5 * np.hypot(uu - vv, 2.0 * uv), 0.5 * np.arctan2(2.0 * uv, uu - vv)
    long, short = np.sqrt(0.5 * (uu + vv) + half), np.sqrt(np.maximum(0.0, 0.5 * (uu + vv) - half))
    cosine, sine = np.cos(turn)[:, None], np.sin(turn)[:, None]
    edge_u: FloatArray = long[:, None] * (cosine * along + sine * across)
    edge_v: FloatArray = short[:, None] * (cosine * across - sine * along)
    return edge_u, edge_v
