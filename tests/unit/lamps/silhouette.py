"""Irradiance from a body of even radiance, by its outline: no sampling, no rays."""

import numpy as np

from sim.geometry.mesh import FloatArray, Mesh


def silhouette_irradiance(mesh: Mesh, point: FloatArray, normal: FloatArray, lines: int) -> float:
    """Return the irradiance per exitance at a point from all that it sees of a body.

    Parameters
    ----------
    mesh : Mesh
        A closed body, every seen part of which has one radiance, wholly above the receiver's horizon.
    point, normal : (3,) float
        Receiver; the normal is a unit vector.
    lines : int
        Scan lines of the midpoint rule across the outline; along each line the integral is exact.

    Notes
    -----
    E / M = 1/pi times the integral of cos over the seen solid angle. On the plane one unit above the receiver that
    is the integral of (1 + x^2 + y^2)^-2 over the union of the projected triangles (central projection).
    """
    axes = np.linalg.svd(normal[None, :])[2]
    corners = (mesh.corners - point) @ axes.T  # first row is the normal up to its sign
    depth = corners[..., 0] * np.sign(axes[0] @ normal)
    assert depth.min() > 0.0
    flat = corners[..., 1:] / depth[..., None]
    if np.ptp(flat[..., 0]) < np.ptp(flat[..., 1]):
        flat = flat[..., ::-1]  # lines along the longer extent, over which the integral is exact
    low, high = flat[..., 1].min(), flat[..., 1].max()
    step = (high - low) / lines
    heights = low + step * (np.arange(lines) + 0.5)
    return step / np.pi * sum(_line_integral(flat, height) for height in heights)


def _line_integral(flat: FloatArray, height: float) -> float:
    y = flat[..., 1]
    cut = flat[(y.min(axis=1) < height) & (y.max(axis=1) > height)]
    following = np.roll(cut, -1, axis=1)
    crosses = (cut[..., 1] > height) != (following[..., 1] > height)
    rise = np.where(crosses, following[..., 1] - cut[..., 1], 1.0)
    x = cut[..., 0] + (height - cut[..., 1]) / rise * (following[..., 0] - cut[..., 0])
    left = np.where(crosses, x, np.inf).min(axis=1)
    right = np.where(crosses, x, -np.inf).max(axis=1)
    order = np.argsort(left)
    left, right = left[order], right[order]
    # The part of each interval that lies right of all before it, so that no overlap counts twice.
    reached = np.concatenate([[-np.inf], np.maximum.accumulate(right)[:-1]])
    start = np.maximum(left, reached)
    new = right > start
    s = 1.0 + height * height
    return float((_antiderivative(right[new], s) - _antiderivative(start[new], s)).sum())


def _antiderivative(x: FloatArray, s: float) -> FloatArray:
    """Of (s + x^2)^-2."""
    return x / (2.0 * s * (s + x * x)) + np.arctan(x / np.sqrt(s)) / (2.0 * s**1.5)
