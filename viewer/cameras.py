"""Where to look from: a few named views, and the nearest place from which everything is seen."""

import json
import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, get_args

import numpy as np

from sim.tally.result import FloatArray

View = Literal["corner", "front", "back", "left", "right", "top", "below"]
VIEWS: tuple[View, ...] = get_args(View)
ANGLE = 30.0
"""Vertical angle of view, degrees."""

Margins = tuple[float, float, float, float]
"""What stays free at the left, right, lower and upper edge: shares of the picture's width and height."""

# Direction from the model to the eye, and the direction that is up in the picture.
_TOWARDS: dict[View, tuple[tuple[float, float, float], tuple[float, float, float]]] = {
    "corner": ((0.62, -1.0, 0.5), (0.0, 0.0, 1.0)),
    "front": ((0.0, -1.0, 0.09), (0.0, 0.0, 1.0)),
    "back": ((0.0, 1.0, 0.09), (0.0, 0.0, 1.0)),
    "left": ((-1.0, 0.0, 0.09), (0.0, 0.0, 1.0)),
    "right": ((1.0, 0.0, 0.09), (0.0, 0.0, 1.0)),
    "top": ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
    "below": ((0.0, 0.0, -1.0), (0.0, 1.0, 0.0)),
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

    def turned(self, angle: float, pivot: FloatArray) -> "Camera":
        """Return the camera turned about the vertical through a point (3,) [m], by an angle [rad]."""
        cosine, sine = math.cos(angle), math.sin(angle)
        turn = np.array([[cosine, -sine, 0.0], [sine, cosine, 0.0], [0.0, 0.0, 1.0]])
        axes = {name: turn @ getattr(self, name) for name in ("right", "up", "forward")}
        return replace(self, eye=pivot + turn @ (self.eye - pivot), **axes)


class CameraFileError(ValueError):
    """A file that holds no camera; one line that says what is wrong."""


def camera_towards(eye: FloatArray, focus: FloatArray, upright: FloatArray) -> Camera:
    """Return the camera at a point that looks at another, both (3,) [m]; `upright` is roughly up.

    Raises
    ------
    ValueError
        If the two points are one, or the direction that is up runs along the line of sight.
    """
    distance = float(np.linalg.norm(focus - eye))
    forward = (focus - eye) / distance if distance > 0.0 else np.zeros(3)
    right = np.cross(forward, upright)
    length = float(np.linalg.norm(right))
    if not (math.isfinite(length) and length > 1e-6 * float(np.linalg.norm(upright)) > 0.0):
        raise ValueError("eye, focus and up do not span a picture")
    right = right / length
    return Camera(eye, right, np.cross(right, forward), forward, distance)


def write_camera(path: Path, camera: Camera) -> None:
    """Write a camera as JSON, for `read_camera`; an existing file is not touched.

    Raises
    ------
    FileExistsError
        If the file is there already.
    """
    rows = {"eye_m": camera.eye, "focus_m": camera.focus, "up": camera.up}
    text = json.dumps({key: [float(part) for part in value] for key, value in rows.items()}, indent=1)
    with path.open("x", encoding="utf-8") as file:
        file.write(text + "\n")


def read_camera(path: Path) -> Camera:
    """Return the camera in a file.

    Raises
    ------
    CameraFileError
        If the file is missing or holds no camera.
    """
    example = '{"eye_m": [1, -2, 1], "focus_m": [0.6, 0.3, 0.3], "up": [0, 0, 1]}'
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        eye, focus, up = (np.array(found[key], dtype=np.float64).reshape(3) for key in ("eye_m", "focus_m", "up"))
        return camera_towards(eye, focus, up)
    except OSError as error:
        raise CameraFileError(f"{path}: {error.strerror}; name a camera's file as the window saves it") from None
    except (ValueError, KeyError, TypeError):
        raise CameraFileError(f"{path}: holds no camera; one looks like {example}") from None


def orbit(points: FloatArray, view: View, aspect: float, margins: Margins, count: int) -> list[Camera]:
    """Return cameras once around a model, all of which see it whole from the same distance.

    Parameters
    ----------
    points : (n, 3) float [m]
    view : View
        The first of them.
    aspect : float
    margins : Margins
    count : int
    """
    low, high = points.min(axis=0), points.max(axis=0)
    pivot = 0.5 * (low + high)
    corners = np.array([(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)]) * (high - low) + low - pivot
    angles = 2.0 * math.pi * np.arange(count) / count
    radius, heights = np.hypot(corners[:, 0], corners[:, 1]).max(), (corners[0, 2], corners[-1, 2])
    rim = np.array(
        [(radius * math.cos(a), radius * math.sin(a), z) for a in np.arange(64) * math.pi / 32 for z in heights]
    )
    first = camera_for(rim + pivot, view, aspect, margins)
    return [first.turned(float(angle), pivot) for angle in angles]


def camera_for(points: FloatArray, view: View, aspect: float, margins: Margins = (0.0, 0.0, 0.0, 0.0)) -> Camera:
    """Return the nearest camera of a view that sees all points.

    Parameters
    ----------
    points : (n, 3) float [m]
        At least one.
    view : View
    aspect : float
        Width over height of the picture.
    margins : Margins

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
