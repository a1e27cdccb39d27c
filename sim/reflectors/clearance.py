"""Whether a reflector's profile keeps clear of the lamp that it is attached to."""

from itertools import pairwise

import numpy as np

from sim.geometry.mesh import FloatArray

MARGIN = 1e-6
"""Least distance between lamp and reflector [m]; what touches is refused."""


def cuts_through(profile: FloatArray, body: FloatArray) -> bool:
    """Tell whether a profile comes within `MARGIN` of the convex outline of a body in its plane.

    Parameters
    ----------
    profile : (p, 2) float [m]
    body : (n, 2) float [m]
        Corners of the body, projected along the sweep. The space between limbs counts as part of it: a reflector has
        no business there.
    """
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * MARGIN
    outline = convex_outline((body[:, None] + corners).reshape(-1, 2))
    return any(_enters(outline, a, b) for a, b in pairwise(profile))


def convex_outline(points: FloatArray) -> FloatArray:
    """Return the corners of the convex hull, anticlockwise, (k, 2).

    Parameters
    ----------
    points : (n, 2) float
        Not all on one line.

    References
    ----------
    A. M. Andrew, Another efficient algorithm for convex hulls in two dimensions, Inf. Process. Lett. 9(5), 1979.
    """
    ordered = np.unique(points, axis=0).tolist()
    return np.array(_lower_chain(ordered) + _lower_chain(ordered[::-1]))


def _lower_chain(points: list[list[float]]) -> list[list[float]]:
    """Return the hull from the first point to the last, the last left out."""
    chain: list[list[float]] = []
    for point in points:
        while len(chain) >= 2 and _turn(chain[-2], chain[-1], point) <= 0.0:
            chain.pop()
        chain.append(point)
    return chain[:-1]


def _turn(a: list[float], b: list[float], c: list[float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _enters(outline: FloatArray, a: FloatArray, b: FloatArray) -> bool:
    """Tell whether a segment meets a convex polygon, by clipping it at each side (Cyrus-Beck)."""
    sides = np.roll(outline, -1, axis=0) - outline
    inward = np.stack([-sides[:, 1], sides[:, 0]], axis=1)
    depth_a = np.einsum("kj,kj->k", inward, a - outline)
    depth_b = np.einsum("kj,kj->k", inward, b - outline)
    if np.any((depth_a < 0.0) & (depth_b < 0.0)):
        return False
    rise = depth_b - depth_a
    crossing = np.divide(-depth_a, rise, out=np.zeros_like(rise), where=rise != 0.0)
    enter = float(np.max(crossing[depth_a < 0.0], initial=0.0))
    leave = float(np.min(crossing[depth_b < 0.0], initial=1.0))
    return enter <= leave
