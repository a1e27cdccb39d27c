"""What a small matt lamp brings to a point by a glossy plate: the lobe integrated over the plate, with no code of ours.

By one facet: B. Walter et al., Microfacet models for refraction through rough surfaces, EGSR 2007, equations 20, 33 and
34, with heights correlated (E. Heitz, JCGT 3(2), 2014). By several: C. Kulla, A. Conty, Revisiting physically based
shading at Imageworks, SIGGRAPH 2017 course.
"""

import math
from collections.abc import Callable
from functools import cache

import numpy as np
from scipy.interpolate import CubicSpline

from sim.transport.arrays import F64
from tests.support.mirror_light import DOWN
from tests.support.rings_of_light import rings
from tests.support.scene_blocks import Triple

NODES = 300
"""Gauss's, along each side of the plate: four digits of a lobe of roughness 0.1 that is met 20 cm away."""


def glossy(reflectance: float, share: float, alpha: float) -> str:
    """An inline law."""
    return f'{{ kind = "glossy", reflectance = {reflectance!r}, specular_share = {share!r}, roughness = {alpha!r} }}'


def _facets(alpha: float, z: F64, oz: F64, hz: F64) -> F64:
    """BRDF of white facets by one of them, per steradian, by cosines of light, of view and of the half vector."""
    density = alpha**2 / (math.pi * (hz**2 * (alpha**2 - 1.0) + 1.0) ** 2)
    widened = (np.sqrt(1.0 + alpha**2 * (1.0 / np.maximum(m, 1e-9) ** 2 - 1.0)) for m in (z, oz))
    return np.asarray(density * 2.0 / sum(widened) / (4.0 * z * np.maximum(oz, 1e-9)))


def _missed(alpha: float, cosine: float) -> float:
    """Share of light that one facet does not return."""
    out, angle = rings(cosine, 400)
    half = out + np.array([math.sqrt(1.0 - cosine**2), 0.0, cosine])
    hz = half[..., 2] / np.sqrt((half**2).sum(axis=-1))
    light = _facets(alpha, np.array(cosine), out[..., 2], hz) * out[..., 2]
    return 1.0 - float((np.where(out[..., 2] > 0.0, light, 0.0) * angle).sum())


@cache
def _several(alpha: float) -> Callable[[F64], F64]:
    """1 - E of a cosine over the root of pi times its own mean: the BRDF by several facets is a product of two."""
    x, weights = np.polynomial.legendre.leggauss(32)
    root = 0.5 * (x + 1.0)
    missed = np.array([_missed(alpha, m) for m in root**2])
    mean = float((2.0 * root**3 * weights * missed).sum())
    spline = CubicSpline(np.append(0.0, root), np.append(1.0, missed))
    return lambda cosine: np.asarray(spline(np.sqrt(cosine)) / math.sqrt(math.pi * mean))


def law(reflectance: float, share: float, alpha: float, wi: F64, wo: F64) -> F64:
    """BRDF (n,) between directions (n, 3) over the plane z = 0."""
    half = wi + wo
    z, oz, hz = wi[:, 2], wo[:, 2], half[:, 2] / np.linalg.norm(half, axis=1)
    several = _several(alpha)
    lobe = _facets(alpha, z, oz, hz) + several(z) * several(oz)
    return np.asarray(reflectance * (share * lobe + (1.0 - share) / math.pi))


def by_plate(lamp: Triple, x: Triple, side: float, brdf: Callable[[F64, F64], F64]) -> float:
    """Irradiance [m-2] per watt at x, which faces down, of a small matt lamp that does, by a square plate in z = 0."""
    node, weight = np.polynomial.legendre.leggauss(NODES)
    u, v = np.meshgrid(0.5 * side * node, 0.5 * side * node)
    area = np.outer(weight, weight).ravel() * 0.25 * side**2
    p = np.stack([u.ravel(), v.ravel(), np.zeros(u.size)], axis=1)
    wi, wo = np.array(lamp) - p, np.array(x) - p
    far_in, far_out = np.linalg.norm(wi, axis=1), np.linalg.norm(wo, axis=1)
    wi, wo = wi / far_in[:, None], wo / far_out[:, None]
    lit = (wi @ -np.array(DOWN)) ** 2 / (math.pi * far_in**2)
    return float((lit * brdf(wi, wo) * wo[:, 2] ** 2 / far_out**2) @ area)
