"""Directions and points by random numbers; each sampler stands beside its density.

Local frames: z is the surface normal on the side of arrival. ``wi`` points back to where light (or a path) came from,
``wo`` to where it goes on. References: M. Pharr, W. Jakob, G. Humphreys, Physically Based Rendering,
4th ed., appendix A.
"""

import math

from sim.transport.jit import helper

TWO_PI = 2.0 * math.pi


@helper
def circle(u: float) -> tuple[float, float]:
    """Return cosine and sine of ``2 pi u`` for u from 0 to 1, to the last digits.

    Notes
    -----
    Polynomials of K. C. Ng for an eighth of a turn to both sides (fdlibm, Sun Microsystems, 1993), about the nearest
    quarter. Without a branch, and without a call into the C library, it takes a third of the time.
    """
    quarter = int(4.0 * u + 0.5)
    x = TWO_PI * (u - 0.25 * quarter)
    z = x * x
    high = 2.75573137070700676789e-06 + z * (-2.50507602534068634195e-08 + z * 1.58969099521155010221e-10)
    sine = 8.33333333332248946124e-03 + z * (-1.98412698298579493134e-04 + z * high)
    sine = x + x * z * (-1.66666666666666324348e-01 + z * sine)
    high = -2.75573143513906633035e-07 + z * (2.08757232129817482790e-09 - z * 1.13596475577881948265e-11)
    cosine = -1.38888888888741095749e-03 + z * (2.48015872894767294178e-05 + z * high)
    cosine = 1.0 - 0.5 * z + z * z * (4.16666666666666019037e-02 + z * cosine)
    # Cosine and sine of the quarter itself: 1 0 -1 0 1 and 0 1 0 -1 0.
    c, s = float(abs(quarter - 2) - 1), float((2 - quarter) * (quarter & 1))
    return c * cosine - s * sine, s * cosine + c * sine


@helper
def basis(nx: float, ny: float, nz: float) -> tuple[float, float, float, float, float, float]:
    """Return two unit vectors perpendicular to a unit normal and to each other (Duff et al., JCGT 6(1), 2017)."""
    sign = math.copysign(1.0, nz)
    a = -1.0 / (sign + nz)
    b = nx * ny * a
    return 1.0 + sign * nx * nx * a, sign * b, -sign * nx, b, sign + ny * ny * a, -ny


@helper
def about(nx: float, ny: float, nz: float, x: float, y: float, z: float) -> tuple[float, float, float]:
    """Return a direction whose local coordinates about a normal are given."""
    ax, ay, az, bx, by, bz = basis(nx, ny, nz)
    return ax * x + bx * y + nx * z, ay * x + by * y + ny * z, az * x + bz * y + nz * z


@helper
def sample_cosine(u1: float, u2: float) -> tuple[float, float, float]:
    """Return a direction with density cos / pi over the upper hemisphere (Lambert's law)."""
    r = math.sqrt(u1)
    cosine, sine = circle(u2)
    return r * cosine, r * sine, math.sqrt(max(1e-300, 1.0 - u1))


@helper
def pdf_cosine(z: float) -> float:
    """Return the density of `sample_cosine` per steradian."""
    return max(z, 0.0) / math.pi


@helper
def sample_triangle(u1: float, u2: float) -> tuple[float, float]:
    """Return weights of the two edges of a uniform point in a triangle, by folding the unit square (no square root)."""
    if u1 + u2 > 1.0:
        return 1.0 - u1, 1.0 - u2
    return u1, u2


@helper
def smith_g1(z: float, alpha: float) -> float:
    """Return the share of GGX facets that a direction at cosine `z` sees unshaded (Smith; Walter et al. 2007)."""
    tan2 = max(0.0, 1.0 - z * z) / max(z * z, 1e-300)
    return 2.0 / (1.0 + math.sqrt(1.0 + alpha * alpha * tan2))


@helper
def smith_g2(z1: float, z2: float, alpha: float) -> float:
    """Return the share of facets seen unshaded from both directions, heights correlated (E. Heitz, JCGT 3(2), 2014)."""
    tan1 = max(0.0, 1.0 - z1 * z1) / max(z1 * z1, 1e-300)
    tan2 = max(0.0, 1.0 - z2 * z2) / max(z2 * z2, 1e-300)
    lambda1 = 0.5 * (math.sqrt(1.0 + alpha * alpha * tan1) - 1.0)
    lambda2 = 0.5 * (math.sqrt(1.0 + alpha * alpha * tan2) - 1.0)
    return 1.0 / (1.0 + lambda1 + lambda2)


@helper
def ggx_density(hz: float, alpha: float) -> float:
    """Return the GGX distribution of facet normals D(h) for a facet at cosine `hz`, per steradian."""
    a2 = alpha * alpha
    k = hz * hz * (a2 - 1.0) + 1.0
    return a2 / (math.pi * k * k)


@helper
def sample_facet(x: float, y: float, z: float, alpha: float, u1: float, u2: float) -> tuple[float, float, float]:
    """Return the normal of a GGX facet as seen from direction (x, y, z) (E. Heitz, JCGT 7(4), 2018)."""
    vx, vy, vz = alpha * x, alpha * y, z
    length = math.sqrt(vx * vx + vy * vy + vz * vz)
    vx, vy, vz = vx / length, vy / length, vz / length
    across = vx * vx + vy * vy
    if across > 0.0:
        t1x, t1y = -vy / math.sqrt(across), vx / math.sqrt(across)
    else:
        t1x, t1y = 1.0, 0.0
    t2x, t2y, t2z = -vz * t1y, vz * t1x, vx * t1y - vy * t1x
    r = math.sqrt(u1)
    p1, p2 = circle(u2)
    p1, p2 = r * p1, r * p2
    s = 0.5 * (1.0 + vz)
    p2 = (1.0 - s) * math.sqrt(max(0.0, 1.0 - p1 * p1)) + s * p2
    p3 = math.sqrt(max(0.0, 1.0 - p1 * p1 - p2 * p2))
    hx = alpha * (p1 * t1x + p2 * t2x + p3 * vx)
    hy = alpha * (p1 * t1y + p2 * t2y + p3 * vy)
    hz = max(1e-12, p2 * t2z + p3 * vz)
    length = math.sqrt(hx * hx + hy * hy + hz * hz)
    return hx / length, hy / length, hz / length


@helper
def sample_lobe(x: float, y: float, z: float, alpha: float, u1: float, u2: float) -> tuple[float, float, float, float]:
    """Return a direction off a rough mirror and the share of light that leaves unshaded in it.

    The share is 0 where the facet sends light into the surface.
    """
    hx, hy, hz = sample_facet(x, y, z, alpha, u1, u2)
    cosine = 2.0 * (x * hx + y * hy + z * hz)
    ox, oy, oz = cosine * hx - x, cosine * hy - y, cosine * hz - z
    if oz <= 0.0:
        return ox, oy, oz, 0.0
    return ox, oy, oz, smith_g2(z, oz, alpha) / smith_g1(z, alpha)


@helper
def pdf_lobe(x: float, y: float, z: float, ox: float, oy: float, oz: float, alpha: float) -> float:
    """Return the density per steradian of `sample_lobe` for a direction above the surface."""
    hx, hy, hz = x + ox, y + oy, z + oz
    length = math.sqrt(hx * hx + hy * hy + hz * hz)
    if oz <= 0.0 or length == 0.0:
        return 0.0
    return smith_g1(z, alpha) * ggx_density(hz / length, alpha) / (4.0 * z)


@helper
def eval_lobe(x: float, y: float, z: float, ox: float, oy: float, oz: float, alpha: float) -> float:
    """Return the rough mirror's BRDF per unit facet reflectance, per steradian (Walter et al. 2007, equation 20)."""
    hx, hy, hz = x + ox, y + oy, z + oz
    length = math.sqrt(hx * hx + hy * hy + hz * hz)
    if z <= 0.0 or oz <= 0.0 or length == 0.0:
        return 0.0
    return ggx_density(hz / length, alpha) * smith_g2(z, oz, alpha) / (4.0 * z * oz)
