"""Straight-sided cross-sections of reflectors: corners across the lamp and towards its facing, its axis at the origin.

Every profile runs so that its inside, the side that shines, lies on the left of someone who walks along it.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from sim.geometry.mesh import FloatArray

BoolArray = npt.NDArray[np.bool_]


def flat(width: float, above: float) -> FloatArray:
    """Return a flat strip behind the lamp, (2, 2) [m].

    Parameters
    ----------
    width, above : float [m]
        Extent across, and distance behind the lamp's axis.
    """
    return np.array([[-0.5 * width, -above], [0.5 * width, -above]])


def trough(width: float, depth: float, above: float, floor_width: float) -> FloatArray:
    """Return a trough with straight sides, (4, 2) [m].

    Parameters
    ----------
    width, depth : float [m]
        Between the two lips, and from the lips to the floor.
    above, floor_width : float [m]
        Distance of the floor behind the lamp's axis, and its width.
    """
    lip, floor = depth - above, -above
    return np.array([[-0.5 * width, lip], [-0.5 * floor_width, floor], [0.5 * floor_width, floor], [0.5 * width, lip]])


def vee(width: float, depth: float, above: float) -> FloatArray:
    """Return two straight sides that meet in a vertex behind the lamp, (3, 2) [m].

    Parameters
    ----------
    width, depth : float [m]
        Between the two lips, and from the lips to the vertex.
    above : float [m]
        Distance of the vertex behind the lamp's axis.
    """
    lip = depth - above
    return np.array([[-0.5 * width, lip], [0.0, -above], [0.5 * width, lip]])


def faceted(points: Sequence[tuple[float, float]] | FloatArray) -> FloatArray:
    """Return a profile of given corners, turned so that its inside faces the lamp, (p, 2) [m].

    Parameters
    ----------
    points : sequence of (across, towards facing), or (p, 2) float [m]

    Raises
    ------
    ValueError
        If corners coincide, pieces cross each other, or the lamp's axis sees both sides alike.
    """
    corners = np.array(points, dtype=np.float64)
    steps = np.diff(corners, axis=0)
    twins = np.flatnonzero(np.all(steps == 0.0, axis=1))
    if len(twins):
        raise ValueError(f"points {twins[0] + 1} and {twins[0] + 2} of the profile are the same; leave one out")
    crossing = first_crossing(corners)
    if crossing is not None:
        raise ValueError(f"pieces {crossing[0] + 1} and {crossing[1] + 1} of the profile cross or touch each other")
    angle = _angle_from_origin(corners)
    if abs(angle) < 1e-6:
        raise ValueError("the profile turns neither side towards the lamp's axis, which is the origin of its points")
    return corners if angle > 0.0 else corners[::-1]


def right_half(profile: FloatArray) -> FloatArray:
    """Return the part of a profile from its middle to its right edge, for turning it about the facing.

    Parameters
    ----------
    profile : (p, 2) float [m]
        Running from left to right, the same on both sides.
    """
    first = int(np.argmax(profile[:, 0] > 0.0))
    # The middle piece is level, or the profile has a corner in its middle: either way the corner before tells.
    middle = np.array([[0.0, profile[first - 1, 1]]])
    return np.concatenate([middle, profile[first:]])


def first_crossing(corners: FloatArray, *, closed: bool = False) -> tuple[int, int] | None:
    """Return two pieces that meet without being neighbours, or neighbours that fold back, counted from 0.

    Parameters
    ----------
    corners : (p, 2) float
    closed : bool
        Whether a last piece joins the end to the start.
    """
    ring = np.concatenate([corners, corners[:1]]) if closed else corners
    start, steps = ring[:-1], np.diff(ring, axis=0)
    last = len(steps) - 1
    for i in range(last):
        if _folds_back(steps[i], steps[i + 1]):
            return i, i + 1
        others = slice(i + 2, last if closed and i == 0 else last + 1)
        meets = np.flatnonzero(_meet((start[i], steps[i]), (start[others], steps[others])))
        if len(meets):
            return i, i + 2 + int(meets[0])
    return None


def _angle_from_origin(corners: FloatArray) -> float:
    """Return by how much a walk along the corners turns about the origin, anticlockwise positive [rad]."""
    before, after = corners[:-1], corners[1:]
    turn = np.arctan2(_cross(before, after), np.einsum("pk,pk->p", before, after))
    return float(turn.sum())


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    product: FloatArray = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return product


Pieces = tuple[FloatArray, FloatArray]
"""Starts and steps, each (..., 2)."""


def _folds_back(ahead: FloatArray, after: FloatArray) -> bool:
    return bool(_cross(ahead, after) == 0.0 and ahead @ after < 0.0)


def _meet(one: Pieces, others: Pieces) -> BoolArray:
    """Tell which of other pieces a piece meets, (n,)."""
    (a, ab), (c, cd) = one, others
    from_one = _cross(ab, c - a), _cross(ab, c + cd - a)
    from_others = _cross(cd, a - c), _cross(cd, a + ab - c)
    meets = (from_one[0] * from_one[1] <= 0.0) & (from_others[0] * from_others[1] <= 0.0)
    # Pieces on one line pass that test whether they overlap or not, so they must share a stretch of it too.
    reach = np.sort(np.stack([(c - a) @ ab, (c + cd - a) @ ab]), axis=0)
    overlap = (reach[0] <= ab @ ab) & (reach[1] >= 0.0)
    found: BoolArray = meets & overlap
    return found
