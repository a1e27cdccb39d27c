"""Whether two bodies run into each other, and whether one lies in the other."""

import numpy as np

from sim.geometry.closed import winding_number
from sim.geometry.mesh import FloatArray, Mesh

TOUCH = 1e-6
"""Bodies that overlap by less than this only touch [m]."""

_CHUNK = 2_000_000


def bodies_cross(one: Mesh, other: Mesh) -> bool:
    """Return whether the surfaces of two meshes intersect by more than a touch."""
    return _pierces(one, other) or _pierces(other, one)


def lies_within(inner: Mesh, outer: Mesh) -> bool:
    """Return whether a closed mesh holds the first vertex of another; meant for meshes that do not cross."""
    return is_inside(inner.vertices[inner.faces[0, 0]], outer)


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
    low, high = corners.min(axis=1), corners.max(axis=1)
    apart = np.any((low > bounds[1]) | (high < bounds[0]), axis=1)
    near: FloatArray = corners[~apart]
    return near


def _edges(corners: FloatArray) -> tuple[FloatArray, FloatArray]:
    starts = corners.reshape(-1, 3)
    ends = np.roll(corners, -1, axis=1).reshape(-1, 3)
    # Shared edges run both ways; one of them is enough.
    ahead = np.array([tuple(a) <= tuple(b) for a, b in zip(starts, ends, strict=True)], dtype=np.bool_)
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
    area = doubled_area[solid][t]
    u = np.einsum("nk,nk->n", np.cross(point, ac[t]), normal[t]) / area
    v = np.einsum("nk,nk->n", np.cross(ab[t], point), normal[t]) / area
    return bool(np.any((u >= 0.0) & (v >= 0.0) & (u + v <= 1.0)))
