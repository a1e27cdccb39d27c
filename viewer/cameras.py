"""Where to look from: a few named views, and the nearest place from which everything is seen."""

import math
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from sim.tally.result import FloatArray

View = Literal["corner", "front", "top"]
VIEWS: tuple[View, ...] = get_args(View)
ANGLE = 30.0
"""Vertical angle of view, degrees."""

# Direction from the model to the eye, and the direction that is up in the picture.
_TOWARDS: dict[View, tuple[tuple[float, float, float], tuple[float, float, float]]] = {
    "corner": ((0.62, -1.0, 0.5), (0.0, 0.0, 1.0)),
    "front": ((0.0, -1.0, 0.09), (0.0, 0.0, 1.0)),
    "top": ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
}


@dataclass(frozen=True)
class Camera:
    """An eye in space that looks along `forward`; `right` and `up` span the picture. Unit vectors, (3,) each.

    Attributes
    ----------
    eye : (3,) float [m]
    right, up, forward : (3,) float
    distance : float [m]
        To the plane that the picture is about, for turning around it.
    """

    eye: FloatArray
    right: FloatArray
    up: FloatArray
    forward: FloatArray
    distance: float

    @property
    def focus(self) -> FloatArray:
        """The point that is looked at, (3,) [m]."""
        place: FloatArray = self.eye + self.distance * self.forward
        return place

    def length_of_pixel(self, height: int) -> float:
        """Return how long [m] a pixel is at the point that is looked at, in a picture of a height [px]."""
        return 2.0 * self.distance * math.tan(math.radians(ANGLE / 2)) / height

    def project(self, points: FloatArray, aspect: float) -> FloatArray:
        """Return where points (n, 3) [m] fall in the picture, (n, 2): 0 … 1 from the left and from below.

        Parameters
        ----------
        points : (n, 3) float [m]
        aspect : float
            Width over height of the picture.
        """
        seen = points - self.eye
        depth = (seen @ self.forward) * math.tan(math.radians(ANGLE / 2))
        return 0.5 + 0.5 * np.column_stack([(seen @ self.right) / (depth * aspect), (seen @ self.up) / depth])


def camera_for(
    points: FloatArray, view: View, aspect: float, margins: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
) -> Camera:
    """Return the nearest camera of a view that sees all points.

    Parameters
    ----------
    points : (n, 3) float [m]
        At least one.
    view : View
    aspect : float
        Width over height of the picture.
    margins : (left, right, below, above)
        Shares of the picture's width and height that stay free.

    Notes
    -----
    A point at x across and z ahead of a camera at (c, -d) is seen if ``low (z + d) <= x - c <= high (z + d)``, where
    low and high are the slopes of the picture's edges. So ``c`` must lie between two bounds that part as d grows; the
    nearest camera is where they meet.
    """
    towards, upright = (np.array(part) for part in _TOWARDS[view])
    forward = -towards / np.linalg.norm(towards)
    right = np.cross(forward, upright)
    right /= np.linalg.norm(right)
    up = np.cross(right, forward)
    half = math.tan(math.radians(ANGLE / 2))
    left_free, right_free, below, above = margins
    spans = (
        (points @ right, -half * aspect * (1 - 2 * left_free), half * aspect * (1 - 2 * right_free)),
        (points @ up, -half * (1 - 2 * below), half * (1 - 2 * above)),
    )
    ahead = points @ forward
    spread = [((x - high * ahead).max() - (x - low * ahead).min()) / (high - low) for x, low, high in spans]
    # A single point, or points in a row along the line of sight, must still be some way off.
    distance = max(*spread, 0.05 - ahead.min())
    middle = [
        0.5 * ((x - high * ahead).max() - high * distance + (x - low * ahead).min() - low * distance)
        for x, low, high in spans
    ]
    eye = middle[0] * right + middle[1] * up - distance * forward
    return Camera(eye, right, up, forward, float(distance + np.median(ahead)))
