"""What passes a woven screen of black round wires, from its geometry.

A wire of diameter d shades d across any direction square to it, so a set of wires at a pitch p takes
``(d/p) sqrt(1 + tan^2)`` of the light, the tangent being that of the angle to the normal in the plane across the wires.
Two crossed sets are taken as independent. At right angles that is the open area of ASTM E2016, ``(1 - d/p)^2``.
"""

from math import atan, cos, sin

import numpy as np
import numpy.typing as npt

from tests.support.tube_light import Passed

FloatArray = npt.NDArray[np.float64]


def through_wires(fill_x: float, fill_y: float) -> Passed:
    """Share that passes in unit directions, for wires along x and along y by diameter over pitch; the normal is z."""

    def share(directions: FloatArray) -> FloatArray:
        tan_x = directions[:, 0] / directions[:, 2]
        tan_y = directions[:, 1] / directions[:, 2]
        first = np.clip(1.0 - fill_x * np.sqrt(1.0 + tan_y**2), 0.0, None)
        return first * np.clip(1.0 - fill_y * np.sqrt(1.0 + tan_x**2), 0.0, None)

    return share


def under_a_line(fill: float, length: float, distance: float) -> float:
    """Share that a square mesh leaves below the middle of a line lamp, wires along and across it.

    Integral of the two shares over Keitz's line; it holds while no part of the lamp is hidden wholly by wires.
    """
    a = atan(length / (2.0 * distance))
    return (1.0 - fill) * (1.0 - 2.0 * fill * sin(a) / (a + sin(a) * cos(a)))


def of_matt_light(fill_x: float, fill_y: float, nodes: int = 1500) -> float:
    """Share that passes of light that arrives evenly from half of space, by the midpoint rule over equal powers."""
    middle = (np.arange(nodes) + 0.5) / nodes
    sine2, azimuth = np.meshgrid(middle, 0.5 * np.pi * middle)
    sine = np.sqrt(sine2).ravel()
    directions = np.stack([sine * np.cos(azimuth.ravel()), sine * np.sin(azimuth.ravel()), np.sqrt(1.0 - sine**2)], 1)
    return float(through_wires(fill_x, fill_y)(directions).mean())
