"""Irradiance near a matt tube: the line source in closed form, and the exact cylinder.

The line source is the formula of A. Keitz, Light Calculations and Measurements (2nd ed. 1971), on which the power
measurement of the International Ultraviolet Association rests (O. Lawal et al., IUVA News 10(1), 2008, revised 2017).
Coordinates: the lamp's axis is x, its middle the origin. The ends of the lamp are dark.
"""

from collections.abc import Callable, Sequence
from math import atan, atan2, hypot, pi, sin, sqrt

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
Passed = Callable[[FloatArray], FloatArray]
"""Takes unit directions, (n, 3); returns the share of light that gets through in each."""


def all_of_it(directions: FloatArray) -> FloatArray:
    """Nothing stands between."""
    return np.ones(len(directions))


def element_to_cylinder(radius: float, length: float, distance: float) -> float:
    """Factor from a small element to a cylinder whose axis its normal meets at right angles at one end.

    Howell, A Catalog of Radiation Configuration Factors: element to a right circular cylinder of finite length.
    Negative lengths give the negative, so that factors of two lengths may be added and subtracted.
    """
    if length < 0:
        return -element_to_cylinder(radius, -length, distance)
    if length == 0:
        return 0.0
    n, h = length / radius, distance / radius
    x, y = (1 + h) ** 2 + n * n, (1 - h) ** 2 + n * n
    side = atan(n / sqrt(h * h - 1)) / (pi * h)
    first = (x - 2 * h) / (h * sqrt(x * y)) * atan(sqrt(x * (h - 1) / (y * (h + 1))))
    return side + n / pi * (first - atan(sqrt((h - 1) / (h + 1))) / h)


def opposite_tube(power: float, radius: float, length: float, distance: float, along: float = 0.0) -> float:
    """Irradiance at a meter that faces a tube's axis, `along` from opposite its middle [W/m2]."""
    exitance = power / (2 * pi * radius * length)
    ends = (0.5 * length - along, 0.5 * length + along)
    return exitance * sum(element_to_cylinder(radius, end, distance) for end in ends)


def under_line(
    power: float,
    length: float,
    depth: float,
    across: float = 0.0,
    along: float = 0.0,
    part: tuple[float, float] | None = None,
) -> float:
    """Irradiance on a plane below a line source and parallel to it [W/m2].

    Parameters
    ----------
    depth : float
        Of the plane under the lamp.
    across, along : float
        Of the point from under the middle.
    part : (float, float), optional
        Ends of the piece of the lamp that the point sees; all of it by default.
    """
    start, end = part or (-0.5 * length, 0.5 * length)
    h = hypot(depth, across)
    b1, b2 = atan2(start - along, h), atan2(end - along, h)
    return power / (pi**2 * length) * depth / h**2 * ((b2 - b1) / 2 + (sin(2 * b2) - sin(2 * b1)) / 4)


def keitz_power(irradiance: float, length: float, distance: float) -> float:
    """Power of a tube by a reading opposite its middle, as Keitz gives it [W]."""
    a = atan(length / (2 * distance))
    return 2 * pi**2 * distance * length * irradiance / (2 * a + sin(2 * a))


def line_irradiance(
    power: float,
    length: float,
    at: Sequence[float],
    normal: Sequence[float],
    passed: Passed = all_of_it,
    nodes: int = 4000,
) -> float:
    """Irradiance of a line source at any point, by the sum over its pieces [W/m2].

    Parameters
    ----------
    passed : callable
        Share of light that gets through in unit directions from the point to the lamp, (n, 3).
    """
    x, weight = np.polynomial.legendre.leggauss(200)
    pieces = np.linspace(-0.5 * length, 0.5 * length, nodes // 200 + 1)
    half = 0.5 * np.diff(pieces)[:, None]
    where = (pieces[:-1, None] + half * (1 + x)).ravel()
    step = (half * weight).ravel()
    line = np.stack([where - at[0], np.full_like(where, -at[1]), np.full_like(where, -at[2])], axis=1)
    distance = np.linalg.norm(line, axis=1)
    directions = line / distance[:, None]
    sine = np.hypot(directions[:, 1], directions[:, 2])
    cosine = np.clip(directions @ np.asarray(normal, dtype=np.float64), 0.0, None)
    return float((step * passed(directions) * power / (pi**2 * length) * sine * cosine / distance**2).sum())


def tube_irradiance(
    power: float, radius: float, length: float, at: FloatArray, normal: FloatArray, nodes: tuple[int, int] = (96, 96)
) -> FloatArray:
    """Irradiance of the exact cylinder at points (n, 3) with normals (n, 3), by quadrature over its side, (n,).

    Only the half of the side that a point sees is summed, so the integrand is smooth where the lamp lies wholly above
    the point's horizon.
    """
    exitance = power / (2 * pi * radius * length)
    (x, wx), (phi, wphi) = (np.polynomial.legendre.leggauss(n) for n in nodes)
    x, wx = 0.5 * length * x, 0.5 * length * wx
    result = np.zeros(len(at))
    for row, (p, n) in enumerate(zip(at, normal, strict=True)):
        h, middle = hypot(p[1], p[2]), atan2(p[2], p[1])
        if h <= radius:
            continue  # straight before an end, which is dark and hides the side
        half = np.arccos(radius / h)
        angle = middle + half * phi
        out = np.stack([np.zeros_like(angle), np.cos(angle), np.sin(angle)], axis=1)
        skin = np.zeros((len(x), len(angle), 3))
        skin[:, :, 0] = x[:, None]
        skin += radius * out
        line = skin - p
        squared = np.einsum("xpi,xpi->xp", line, line)
        leaving = -np.einsum("xpi,pi->xp", line, out)
        arriving = np.clip(line @ n, 0.0, None)
        kernel = leaving * arriving / (pi * squared**2)
        result[row] = exitance * radius * half * (wx @ kernel @ wphi)
    return result
