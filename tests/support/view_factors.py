"""Configuration factors in closed form.

The formulas stand in J. R. Howell, A Catalog of Radiation Configuration Factors (McGraw-Hill 1982, and its later
editions on the web); those for rectangles at any place are also in J. R. Ehlert, T. F. Smith, View factors for
perpendicular and parallel rectangular plates, J. Thermophysics and Heat Transfer 7 (1993) 173-174.
"""

from math import atan, hypot, log, pi, sqrt

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def parallel_rectangles(a: float, b: float, gap: float) -> float:
    """Between equal rectangles a x b that face each other across a gap."""
    x, y = a / gap, b / gap
    return (
        2.0
        / (pi * x * y)
        * (
            0.5 * log((1 + x * x) * (1 + y * y) / (1 + x * x + y * y))
            + x * sqrt(1 + y * y) * atan(x / sqrt(1 + y * y))
            + y * sqrt(1 + x * x) * atan(y / sqrt(1 + x * x))
            - x * atan(x)
            - y * atan(y)
        )
    )


def perpendicular_rectangles(edge: float, width: float, height: float) -> float:
    """From a rectangle of a width to one of a height that stands on their common edge."""
    h, w = height / edge, width / edge
    hh, ww = h * h, w * w
    logarithm = (
        log((1 + ww) * (1 + hh) / (1 + ww + hh))
        + ww * log(ww * (1 + ww + hh) / ((1 + ww) * (ww + hh)))
        + hh * log(hh * (1 + hh + ww) / ((1 + hh) * (hh + ww)))
    )
    angles = w * atan(1 / w) + h * atan(1 / h) - sqrt(hh + ww) * atan(1 / sqrt(hh + ww))
    return (angles + 0.25 * logarithm) / (pi * w)


def coaxial_disks(r1: float, r2: float, gap: float) -> float:
    """From a disk of radius r1 to one of radius r2 on the same axis, parallel to it."""
    a, b = r1 / gap, r2 / gap
    x = 1 + (1 + b * b) / (a * a)
    return 0.5 * (x - sqrt(x * x - 4 * (b / a) ** 2))


def element_to_disk(radius: float, gap: float, offset: float = 0.0) -> float:
    """From a small element to a parallel disk whose axis passes it at an offset."""
    if offset == 0.0:
        return radius**2 / (radius**2 + gap**2)
    h, r = gap / offset, radius / offset
    z = 1 + h * h + r * r
    return 0.5 * (1 - (z - 2 * r * r) / sqrt(z * z - 4 * r * r))


def element_to_parallel_rectangle(a: float, b: float, gap: float) -> float:
    """From a small element to a parallel rectangle a x b, of which one corner lies on the element's normal."""
    x, y = a / gap, b / gap
    one, other = sqrt(1 + x * x), sqrt(1 + y * y)
    return (x / one * atan(y / one) + y / other * atan(x / other)) / (2 * pi)


def element_to_upright_rectangle(height: float, width: float, distance: float) -> float:
    """From a small element to a rectangle perpendicular to its plane that begins in it, one lower corner opposite."""
    slant = hypot(height, distance)
    return (atan(width / distance) - distance / slant * atan(width / slant)) / (2 * pi)


def between_parallel(x: FloatArray, y: FloatArray, xi: FloatArray, eta: FloatArray, gap: float) -> FloatArray:
    """Area of the first rectangle times its factor to the second, in parallel planes.

    Parameters
    ----------
    x, y : (2, ...) float
        Ends of the first rectangle along the two axes of its plane.
    xi, eta : (2, ...) float
        Ends of the second along the same axes.
    gap : float
        Distance of the planes.
    """

    def primitive(u: FloatArray, v: FloatArray) -> FloatArray:
        p, q = np.sqrt(u * u + gap * gap), np.sqrt(v * v + gap * gap)
        logarithm = 0.5 * gap * gap * np.log(u * u + v * v + gap * gap)
        return v * p * np.arctan(v / p) + u * q * np.arctan(u / q) - logarithm

    total = np.zeros(np.broadcast_shapes(x.shape[1:], y.shape[1:], xi.shape[1:], eta.shape[1:]))
    for sign, i, j, k, m in _corners():
        total += sign * primitive(x[i] - xi[k], y[j] - eta[m])
    return total / (2 * pi)


def between_perpendicular(y: FloatArray, x: FloatArray, eta: FloatArray, xi: FloatArray) -> FloatArray:
    """Area of the first rectangle times its factor to the second, in perpendicular planes.

    Parameters
    ----------
    y, eta : (2, ...) float
        Ends of the first and of the second along the line where their planes meet.
    x, xi : (2, ...) float
        Ends of the first and of the second as distances from that line, in their own planes.
    """

    def primitive(v: FloatArray, square: FloatArray) -> FloatArray:
        root = np.sqrt(square)
        angle = np.arctan2(v, root)
        both = square + v * v
        logarithm = np.log(np.where(both > 0.0, both, 1.0))
        return v * root * angle - 0.25 * (square - v * v) * logarithm

    total = np.zeros(np.broadcast_shapes(x.shape[1:], y.shape[1:], xi.shape[1:], eta.shape[1:]))
    for sign, i, j, k, m in _corners():
        total += sign * primitive(y[j] - eta[m], x[i] ** 2 + xi[k] ** 2)
    return total / (2 * pi)


def _corners() -> list[tuple[int, int, int, int, int]]:
    return [
        ((-1) ** (i + j + k + m), i, j, k, m) for i in range(2) for j in range(2) for k in range(2) for m in range(2)
    ]
