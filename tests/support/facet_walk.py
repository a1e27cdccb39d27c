"""Light among the facets of a rough mirror, followed from facet to facet: a model that knows nothing of our tables.

E. Heitz, J. Hanika, E. d'Eon, C. Dachsbacher, "Multiple-scattering microfacet BSDFs with the Smith model", ACM
Transactions on Graphics 35(4), 2016: a ray climbs through heights that are drawn anew at every facet (algorithm 1) and
meets facets as they are seen from where it comes (their section 5.2). White facets lose nothing.
"""

import numpy as np
import numpy.typing as npt

F64 = npt.NDArray[np.float64]
I64 = npt.NDArray[np.int64]


def shadow_slope(z: F64, alpha: float) -> F64:
    """Smith's Lambda for GGX, by the cosine of a direction that may point down."""
    z = np.where(np.abs(z) < 1e-12, 1e-12, z)
    return np.asarray(0.5 * (np.sign(z) * np.sqrt(1.0 + alpha**2 * (1.0 / z**2 - 1.0)) - 1.0))


def seen_facets(towards: F64, alpha: float, rng: np.random.Generator) -> F64:
    """Normals (n, 3) of facets as seen from directions (n, 3), above or below the horizon.

    Facets are those of an upper half ellipsoid. Stretched to a sphere, it is seen as a half disc and a half ellipse.
    """
    stretched = towards * np.array([alpha, alpha, 1.0])
    stretched /= np.linalg.norm(stretched, axis=1, keepdims=True)
    x, y, z = stretched.T
    across = np.hypot(x, y)
    level = across < 1e-9
    across = np.where(level, 1.0, across)
    first = np.stack([np.where(level, 1.0, -y / across), np.where(level, 0.0, x / across), 0.0 * x], axis=1)
    second = np.cross(stretched, first)
    radius, turn = np.sqrt(rng.random(len(x))), 2.0 * np.pi * rng.random(len(x))
    p, q = radius * np.cos(turn), radius * np.sin(turn)
    q = 0.5 * (1.0 - z) * np.sqrt(1.0 - p * p) + 0.5 * (1.0 + z) * q
    height = np.sqrt(np.clip(1.0 - p * p - q * q, 0.0, None))
    normal = p[:, None] * first + q[:, None] * second + height[:, None] * stretched
    normal = np.stack([alpha * normal[:, 0], alpha * normal[:, 1], np.maximum(1e-12, normal[:, 2])], axis=1)
    return np.asarray(normal / np.linalg.norm(normal, axis=1, keepdims=True))


def walk(cosine: float, alpha: float, count: int, seed: int) -> tuple[F64, I64]:
    """Directions (n, 3) in which light leaves that came at a cosine along +x, and how many facets it met (n,)."""
    rng = np.random.Generator(np.random.PCG64(seed))
    ray = np.tile([np.sqrt(1.0 - cosine**2), 0.0, -cosine], (count, 1))
    below, met = np.ones(count), np.zeros(count, dtype=np.int64)
    inside = np.arange(count)
    while len(inside):
        u, slope = rng.random(len(inside)), shadow_slope(ray[inside, 2], alpha)
        # Heights are told by the share of the surface below them, so their distribution falls out.
        free = np.where(ray[inside, 2] > 0.0, below[inside] ** np.maximum(slope, 0.0), 0.0)
        stays = u >= free
        inside, u, slope = inside[stays], u[stays], slope[stays]
        below[inside] = np.minimum(1.0, below[inside] * u ** (-1.0 / slope))
        facet = seen_facets(-ray[inside], alpha, rng)
        ray[inside] -= 2.0 * (ray[inside] * facet).sum(axis=1, keepdims=True) * facet
        met[inside] += 1
    return ray, met
