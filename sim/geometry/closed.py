"""Whether triangles enclose a body, and how they lie around it."""

import numpy as np
import numpy.typing as npt

from sim.geometry.edges import pair_keys, sides
from sim.geometry.mesh import FloatArray, IntArray, Mesh
from sim.geometry.places import places

BoolArray = npt.NDArray[np.bool_]


def merged(mesh: Mesh, step: float = 0.0) -> Mesh:
    """Return the mesh with vertices at one place made one.

    Parameters
    ----------
    mesh : Mesh
    step : float [m]
        Vertices that agree when rounded to this step are the same; 0 asks for equal coordinates.
    """
    rows, place = places(np.round(mesh.vertices / step) if step > 0.0 else mesh.vertices)
    return Mesh(mesh.vertices[rows], place[mesh.faces])


def picked(mesh: Mesh, chosen: BoolArray) -> Mesh:
    """Return some triangles of a mesh, with the vertices that they use alone.

    Parameters
    ----------
    mesh : Mesh
    chosen : (m,) bool
    """
    faces = mesh.faces[chosen]
    used = np.zeros(len(mesh.vertices), dtype=np.bool_)
    used[faces] = True
    place = np.cumsum(used) - 1
    return Mesh(mesh.vertices[used], place[faces])


def signed_volume(mesh: Mesh) -> float:
    """Return the enclosed volume [m3], positive where fronts face outward.

    Notes
    -----
    By the divergence theorem, about the middle of the bounds. An open mesh gives no volume, yet the sign still tells
    whether the fronts of a room with a missing wall face outward.
    """
    about = mesh.vertices - mesh.bounds.mean(axis=0)
    (x, y, z), (a, b, c), (p, q, r) = (about.take(corner, axis=0).T for corner in mesh.faces.T)
    return float((x * (b * r - c * q) + y * (c * p - a * r) + z * (a * q - b * p)).sum() / 6.0)


def edge_uses(mesh: Mesh) -> tuple[IntArray, IntArray]:
    """Return how often each undirected edge is used, and how often along its first direction, each (e,)."""
    pairs = sides(mesh.faces)
    # One number for each use of an edge, whose lowest bit tells the direction.
    used = np.sort(2 * pair_keys(pairs, len(mesh.vertices)) + (pairs[:, 0] < pairs[:, 1]))
    first = np.flatnonzero(np.diff(used >> 1, prepend=-1))
    uses = np.diff(first, append=len(used))
    forward: IntArray = np.add.reduceat(used & 1, first) if len(first) else np.zeros(0, dtype=np.int64)
    return uses, forward


def is_watertight(mesh: Mesh) -> bool:
    """Whether each edge belongs to just two triangles that run along it in opposite directions."""
    return close_up(*edge_uses(mesh))


def close_up(uses: IntArray, forward: IntArray) -> bool:
    """Whether edges of such uses, as `edge_uses` tells them, leave no gap: `is_watertight` of their mesh."""
    return bool(len(uses) > 0 and np.all(uses == 2) and np.all(forward == 1))


def winding_number(mesh: Mesh, point: FloatArray) -> float:
    """Return how often the mesh goes around a point: 1 within a body, 0 outside, between them beside holes.

    Parameters
    ----------
    mesh : Mesh
        Fronts outward; a mesh with fronts inward gives -1 within.
    point : (3,) float [m]

    References
    ----------
    A. van Oosterom, J. Strackee, "The solid angle of a plane triangle", IEEE Trans. Biomed. Eng. BME-30(2), 1983,
    eq. 8; summed over an open mesh as in A. Jacobson, L. Kavan, O. Sorkine-Hornung, "Robust inside-outside
    segmentation using generalized winding numbers", ACM Trans. Graph. 32(4), 2013.
    """
    a, b, c = np.moveaxis(mesh.corners - point, 1, 0)
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    volume = np.einsum("mk,mk->m", a, np.cross(b, c))
    ab, bc, ca = (np.einsum("mk,mk->m", p, q) for p, q in ((a, b), (b, c), (c, a)))
    return float(np.arctan2(volume, la * lb * lc + ab * lc + bc * la + ca * lb).sum() / (2.0 * np.pi))
