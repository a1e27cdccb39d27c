"""Irradiance under an endless tube at the focus of a mirror: by the parabola itself, and by flat facets.

Both work in the cross-section. A mirror that is straight along x leaves the x part of a direction as it is, so a ray
meets the tube where its projection meets the circle, and an endless matt strip that is seen under angles a to b from
the facing gives pi / 2 L (sin b - sin a) for a radiance of L. Coordinates are across and towards the facing, the tube's
axis at the origin.
"""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def exitance_to_irradiance(power_per_length: float, radius: float) -> float:
    """Return pi / 2 L of a matt tube: irradiance for each unit of sin b - sin a [W/m2]."""
    radiance = power_per_length / (2.0 * np.pi * radius) / np.pi
    return 0.5 * np.pi * radiance


def sines_by_parabola(
    radius: float, focus: float, width: float, distance: float, across: float, nodes: int = 400_001
) -> float:
    """Return the sum of sin b - sin a over what a receiver that looks back at the lamp sees lit in the mirror.

    A ray along the facing goes through the focus, so one that is off by an angle passes the focus at sin(angle) times
    the distance of the mirror's point from it: the point shows the tube where that is below the tube's radius.
    """
    x = np.linspace(-0.5 * width, 0.5 * width, nodes)
    z = x * x / (4.0 * focus) - focus
    angle = np.arctan2(across - x, distance - z)
    lit = np.hypot(x, z) * np.abs(np.sin(angle)) <= radius
    to_tube, half = np.arctan2(across, distance), np.arcsin(radius / np.hypot(across, distance))
    seen = lit & (np.abs(angle - to_tube) > half)  # the tube hides what lies right behind it
    share = 0.5 * (seen[1:].astype(np.float64) + seen[:-1])
    return float(np.abs(np.diff(np.sin(angle))) @ share)


def sines_by_facets(profile: FloatArray, radius: float, distance: float, across: float) -> float:
    """Return the same for a profile of flat mirrors, each of which shows the tube's image through its window.

    Light off two facets one after the other is left out, and so is what a facet would hide of another: right for a
    hollow mirror that shows each receiver all its facets.
    """
    start, step = profile[:-1], np.diff(profile, axis=0)
    normal = np.stack([-step[:, 1], step[:, 0]], axis=1) / np.linalg.norm(step, axis=1)[:, None]
    image = 2.0 * np.einsum("pk,pk->p", start, normal)[:, None] * normal
    to_image = _angle(image, distance, across)
    half = np.arcsin(radius / np.hypot(across - image[:, 0], distance - image[:, 1]))
    ends = np.sort([_angle(start, distance, across), _angle(start + step, distance, across)], axis=0)
    low, high = np.maximum(ends[0], to_image - half), np.minimum(ends[1], to_image + half)
    to_tube, tube = np.arctan2(across, distance), np.arcsin(radius / np.hypot(across, distance))
    return _sines(low, high) - _sines(np.maximum(low, to_tube - tube), np.minimum(high, to_tube + tube))


def _angle(points: FloatArray, distance: float, across: float) -> FloatArray:
    angles: FloatArray = np.arctan2(across - points[:, 0], distance - points[:, 1])
    return angles


def _sines(low: FloatArray, high: FloatArray) -> float:
    return float((np.sin(np.maximum(low, high)) - np.sin(low)).sum())
