"""The two flat plates that close a trough at its ends."""

import numpy as np

from sim.geometry.mesh import FloatArray, IntArray, Mesh
from sim.reflectors.profile import first_crossing

NO_PLATE = "no flat plate closes the ends: the straight line between the profile's two edges meets the profile"


def end_plate(profile: FloatArray, at: FloatArray, across: FloatArray, facing: FloatArray) -> Mesh:
    """Return the area between a profile and the line through its two edges, front towards ``across x facing``.

    Parameters
    ----------
    profile : (p, 2) float [m]
        Its inside on the left of a walk along it.
    at : (3,) float [m]
        Where the lamp's axis meets the plate.
    across, facing : (3,) float, unit vectors
        Perpendicular to each other.

    Raises
    ------
    ValueError
        If the profile encloses no area, or the line through its edges cuts it.
    """
    if len(profile) < 3 or first_crossing(profile, closed=True) is not None:
        raise ValueError(NO_PLATE)
    return Mesh(at + profile[:, :1] * across + profile[:, 1:] * facing, triangulated(profile))


def triangulated(polygon: FloatArray) -> IntArray:
    """Return the triangles of a simple polygon without new corners, anticlockwise, (p - 2, 3).

    Parameters
    ----------
    polygon : (p, 2) float
        Anticlockwise, its sides not crossing.

    Raises
    ------
    ValueError
        If no ear is left before the end, as in a polygon that runs clockwise.

    References
    ----------
    G. H. Meisters, Polygons have ears, Amer. Math. Monthly 82(6), 1975.
    """
    left = list(range(len(polygon)))
    faces = []
    while len(left) > 3:
        ear = next((i for i in range(len(left)) if _is_ear(polygon, left, i)), None)
        if ear is None:
            raise ValueError(NO_PLATE)
        faces.append(_neighbours(left, ear))
        del left[ear]
    if _double_area(polygon[left]) <= 0.0:
        raise ValueError(NO_PLATE)
    return np.array([*faces, tuple(left)], dtype=np.int64)


def _neighbours(left: list[int], i: int) -> tuple[int, int, int]:
    return left[i - 1], left[i], left[(i + 1) % len(left)]


def _double_area(triangle: FloatArray) -> float:
    a, b, c = triangle
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _is_ear(polygon: FloatArray, left: list[int], i: int) -> bool:
    """Tell whether corner i can be cut off: it turns left, and its triangle holds no other corner."""
    a, b, c = polygon[list(_neighbours(left, i))]
    if _double_area(np.stack([a, b, c])) <= 0.0:
        return False
    others = polygon[[k for k in left if k not in _neighbours(left, i)]]
    inside = np.ones(len(others), dtype=np.bool_)
    for p, q in ((a, b), (b, c), (c, a)):
        inside &= (q[0] - p[0]) * (others[:, 1] - p[1]) - (q[1] - p[1]) * (others[:, 0] - p[0]) >= 0.0
    return not inside.any()
