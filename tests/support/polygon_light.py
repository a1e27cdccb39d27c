"""Irradiance from a uniform diffuse polygon in closed form."""

import numpy as np

from sim.lamps.lamp import LampShape
from sim.transport.arrays import F64


def polygon_factors(corners: F64, x: F64, normal: F64) -> F64:
    """Irradiance at a point over the exitance of triangles (n, 3, 3) that lie wholly above its plane, (n,).

    Lambert's formula: the sum over edges of the angle it spans times the cosine between the receiver's normal and
    the normal of the plane through the point and the edge, over 2 pi (J. Howell, A Catalog of Radiation Heat Transfer
    Configuration Factors, section on contour integration).
    """
    r = corners - x
    assert np.all(r @ normal >= -1e-12), "a triangle dips below the receiver's plane"
    a, b = r, np.roll(r, -1, axis=1)
    across = np.cross(a, b)
    length = np.linalg.norm(across, axis=-1)
    angle = np.arctan2(length, np.einsum("ijk,ijk->ij", a, b))
    projected = np.divide(across @ normal, length, out=np.zeros_like(length), where=length > 0.0)
    return np.abs((angle * projected).sum(axis=1)) / (2.0 * np.pi)


def from_convex_lamp(shape: LampShape, watts: float, x: F64, normal: F64) -> float:
    """Irradiance [W m-2] at a point from a convex lamp, of which each lit face is seen whole or not at all."""
    corners = shape.body.corners[shape.emits]
    faces = shape.body.normals[shape.emits]
    seen = np.einsum("ij,ij->i", x - corners[:, 0], faces) > 0.0
    exitance = watts / float(shape.body.areas[shape.emits].sum())
    return exitance * float(polygon_factors(corners[seen], x, normal).sum())


def mean_over(shape: LampShape, watts: float, origin: F64, edge_u: F64, edge_v: F64, nodes: int = 8) -> float:
    """Mean irradiance over a parallelogram that faces ``edge_u x edge_v``, by Gauss-Legendre."""
    points, weights = np.polynomial.legendre.leggauss(nodes)
    normal = np.cross(edge_u, edge_v)
    normal = normal / np.linalg.norm(normal)
    total = 0.0
    for u, wu in zip(0.5 * (points + 1.0), weights, strict=True):
        for v, wv in zip(0.5 * (points + 1.0), weights, strict=True):
            total += 0.25 * wu * wv * from_convex_lamp(shape, watts, origin + u * edge_u + v * edge_v, normal)
    return total
