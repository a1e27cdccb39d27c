"""Whether two bodies run into each other, and whether one lies in the other."""

import numpy as np

from sim.geometry.closed import winding_number
from sim.geometry.mesh import FloatArray, Mesh

TOUCH = 1e-6
"""Bodies that overlap by less than this only touch [m]."""

DEPTH = 1e-5
"""How far behind its fronts a body is looked at [m]."""
SAMPLES = 64
"""Triangles of a body that are looked at."""

_CHUNK = 2_000_000


def bodies_cross(one: Mesh, other: Mesh) -> bool:
    """Return whether the surfaces of two meshes intersect by more than a touch."""
    return _pierces(one, other) or _pierces(other, one)


def lies_within(inner: Mesh, outer: Mesh) -> bool:
    """Return whether a closed mesh holds some of another, which need not cross it.

    Points just behind the fronts of the inner mesh are looked at, so bodies that coincide lie within each other, and
    bodies that touch do not.
    """
    behind = inner.centres - DEPTH * inner.normals
    step = max(1, len(behind) // SAMPLES)
    return any(is_inside(point, outer) for point in behind[::step])


def is_inside(point: FloatArray, body: Mesh) -> bool:
    """Return whether a closed mesh holds a point, whichever way its fronts look."""
    low, high = body.bounds
    if bool(np.any(point < low) or np.any(point > high)):
        return False
    return abs(winding_number(body, point)) > 0.5


def _pierces(one: Mesh, other: Mesh) -> bool:
    """Return whether an edge of the first mesh passes through a triangle of the second."""
    corners = _near(other.corners, one.bounds)
    starts, ends = _edges(_near(one.corners, other.bounds))
    if not len(corners) or not len(starts):
        return False
    step = max(1, _CHUNK // len(corners))
    return any(
        _segments_hit(starts[at : at + step], ends[at : at + step], corners) for at in range(0, len(starts), step)
    )


def _near(corners: FloatArray, bounds: FloatArray) -> FloatArray:
    """Return the triangles whose own bounds overlap the given ones, (k, 3, 3)."""
    apart = np.zeros(len(corners), dtype=np.bool_)
    for axis in range(3):
        a, b, c = corners[:, :, axis].T
        apart |= np.minimum(np.minimum(a, b), c) > bounds[1, axis]
        apart |= np.maximum(np.maximum(a, b), c) < bounds[0, axis]
    near: FloatArray = corners[~apart]
    return near


def _edges(corners: FloatArray) -> tuple[FloatArray, FloatArray]:
    starts = corners.reshape(-1, 3)
    ends = np.roll(corners, -1, axis=1).reshape(-1, 3)
    # Shared edges run both ways; one of them is enough.
    ahead = np.ones(len(starts), dtype=np.bool_)
    for axis in reversed(range(3)):
        a, b = starts[:, axis], ends[:, axis]
        ahead = (a < b) | ((a == b) & ahead)
    return starts[ahead], ends[ahead]


def _segments_hit(starts: FloatArray, ends: FloatArray, corners: FloatArray) -> bool:
    """Return whether a segment passes through a triangle, with more than a touch on both of its sides.

    References
    ----------
    T. Moeller, B. Trumbore, "Fast, minimum storage ray/triangle intersection", J. Graph. Tools 2(1), 1997.
    """
    a = corners[:, 0]
    ab, ac = corners[:, 1] - a, corners[:, 2] - a
    normal = np.cross(ab, ac)
    doubled_area = np.linalg.norm(normal, axis=1)
    solid = doubled_area > 0.0
    a, ab, ac, normal = a[solid], ab[solid], ac[solid], normal[solid] / doubled_area[solid, None]
    before = np.einsum("stk,tk->st", starts[:, None] - a, normal)
    after = np.einsum("stk,tk->st", ends[:, None] - a, normal)
    s, t = np.nonzero((np.minimum(before, after) < -TOUCH) & (np.maximum(before, after) > TOUCH))
    share = before[s, t] / (before[s, t] - after[s, t])
    point = starts[s] + share[:, None] * (ends[s] - starts[s]) - a[t]
    sides = np.stack([-ac, ab, ac - ab], axis=1)[t]
    from_side = np.stack([point, point, point - ab[t]], axis=1)
    # How far within each side of the triangle the point lies, times the side's length.
    within = np.einsum("nsk,nk->ns", np.cross(sides, from_side), normal[t])
    return bool(np.any(np.all(within > TOUCH * np.linalg.norm(sides, axis=2), axis=1)))
