"""Light that the facets of a rough mirror send to each other: how much there is, and where it leaves.

A lobe of GGX facets with Smith shadowing (`sim.transport.sampling`) returns of light at the cosine m the share E(m) by
one facet. What is left met another facet. Of facets that absorb nothing all of it gets out in the end, and it is given
the law

    (1 - E(m)) (1 - E(m')) / (pi (1 - E_mean)),    E_mean = 2 integral of E(m) m dm,

which is the same with both directions exchanged, and which returns just 1 - E(m) whatever m is.

References
----------
C. Kulla, A. Conty, "Revisiting physically based shading at Imageworks", SIGGRAPH 2017 course "Physically based shading
in theory and practice", after C. Kelemen, L. Szirmay-Kalos, "A microfacet based coupled specular-matte BRDF model with
importance sampling", Eurographics 2001.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sim.geometry.mesh import FloatArray

FACET_NODES = 129
"""Nodes of `FacetTable`."""
_FACETS, _AROUND = 48, 24
"""Nodes of the quadrature over a facet's slope, for each of two ranges, and around the normal."""
_MESH = 256
"""Steps in the root of the cosine, from which those of the table are found."""


def returned_once(alpha: float, cosine: FloatArray) -> FloatArray:
    """Return the share E of light that white facets return by one reflection, (n,).

    Parameters
    ----------
    alpha : float
        Roughness of GGX, above 0 to 1.
    cosine : (n,) float
        Of the angle between the light and the normal, above 0 to 1.

    Notes
    -----
    Facets at the angle t to the normal, turned by p from the plane of incidence, send light at the angle i up where
    ``cos p > -cot(2 t) cot(i)``. That parts the facets into those that do so whatever p is, and those that do within
    some angle; in either range the integrand is smooth, and Gauss's nodes find it to 1e-5 (`tests/unit/materials`), to
    1e-8 but near grazing incidence. At alpha 1 the integral is ``1 - m ln(1 + 1/m)``.
    """
    m = np.asarray(cosine, dtype=np.float64)[:, None]
    incidence = np.arccos(m)
    # The share of facets less steep than t: even steps of it have equal parts of D cos t.
    at_once, at_all = (_less_steep(alpha, 0.5 * (0.5 * np.pi + sign * incidence)) for sign in (-1.0, 1.0))
    once = np.zeros(len(m))
    nodes, weights = _ends_drawn_out(_FACETS)
    for low, high in ((np.zeros_like(at_once), at_once), (at_once, at_all)):
        u, du = low + (high - low) * nodes, (high - low) * weights
        slope = alpha * np.sqrt(u / (1.0 - u))
        once += (_within(alpha, m, slope) * du).sum(axis=1)
    return once


def _less_steep(alpha: float, t: FloatArray) -> FloatArray:
    sine2, cosine2 = np.sin(t) ** 2, np.cos(t) ** 2
    return np.asarray(sine2 / (alpha**2 * cosine2 + sine2))


def _ends_drawn_out(count: int) -> tuple[FloatArray, FloatArray]:
    """Return nodes and weights on 0 to 1 that suit integrands with roots at the ends, (count,) each."""
    x, w = np.polynomial.legendre.leggauss(count)
    s = 0.5 * (x + 1.0)
    ends = s**3 + (1.0 - s) ** 3
    return s**3 / ends, 0.5 * w * 3.0 * (s * (1.0 - s)) ** 2 / ends**2


def _within(alpha: float, m: FloatArray, slope: FloatArray) -> FloatArray:
    """Return the share of light that facets of a slope send up unshaded, per such facet, (n, slopes)."""
    c = 1.0 / np.sqrt(1.0 + slope**2)
    s, side = slope * c, np.sqrt(1.0 - m * m)
    limit = np.arccos(np.clip(m * (s * s - c * c) / np.maximum(2.0 * side * s * c, 1e-300), -1.0, 1.0))
    x, w = np.polynomial.legendre.leggauss(_AROUND)
    p = limit[..., None] * 0.5 * (x + 1.0)
    facing = (side * s)[..., None] * np.cos(p) + (m * c)[..., None]
    out = np.clip(2.0 * facing * c[..., None] - m[..., None], 1e-12, 1.0)
    # Smith's share of facets that nothing shades on either way, heights correlated.
    unshaded = 2.0 / (_widened(alpha, m)[..., None] + _widened(alpha, out))
    share = (facing * unshaded * w).sum(axis=-1) * limit / (2.0 * np.pi)
    return np.asarray(share / (c * m))


def _widened(alpha: float, cosine: FloatArray) -> FloatArray:
    return np.sqrt(1.0 + alpha**2 * (1.0 - cosine**2) / cosine**2)


@dataclass(frozen=True)
class FacetTable:
    """Where light leaves that met several facets, by the cosine of the angle to the normal.

    Attributes
    ----------
    share : float
        Part of matt light that one facet does not return, 1 - E_mean.
    cosines : (FACET_NODES,) float
        From 0 to 1; up to the k-th, from 0, leaves the part ``(k / (FACET_NODES - 1))^2`` of the light.
    densities : (FACET_NODES,) float
        Of that light at each of them, per step of the cosine.
    """

    share: float
    cosines: FloatArray
    densities: FloatArray


@lru_cache(maxsize=256)
def facet_table(alpha: float) -> FacetTable:
    """Return the table of a rough mirror.

    Parameters
    ----------
    alpha : float
        Roughness of GGX, above 0 to 1.
    """
    root = np.linspace(0.0, 1.0, _MESH + 1)
    missed = np.zeros(_MESH + 1)
    missed[1:] = np.clip(1.0 - returned_once(alpha, root[1:] ** 2), 0.0, 1.0)
    # By the root s of the cosine, since E changes fast near grazing incidence: 2 m (1 - E) dm = 4 s^3 (1 - E) ds.
    part = 4.0 * root**3 * missed
    sums = np.append(0.0, np.cumsum(0.5 * (part[1:] + part[:-1]))) / _MESH
    roots = np.interp(np.linspace(0.0, 1.0, FACET_NODES) ** 2 * sums[-1], sums, root)
    densities = 2.0 * roots**2 * np.interp(roots, root, missed) / sums[-1]
    return FacetTable(float(sums[-1]), roots**2, densities)
