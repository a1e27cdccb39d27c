"""One meeting of light with a surface: which part of the law acts, with what weight, and where light goes on.

The choice is analog: a part is taken with the largest share that any live band gives it, and bands below that share
lose weight. With one band weights never change and a photon dies with exactly the surface's absorptance, so histories
end by themselves, without bias and without a bounce limit.
"""

import math

from sim.transport.arrays import ALPHA, F64, Laws, Surfaces
from sim.transport.facets import pdf_multiple, sample_multiple
from sim.transport.jit import helper, routine
from sim.transport.parts import ABSORBED, DIFFUSE, FACETS, LOBE, MIRROR, STRAIGHT, THROUGH
from sim.transport.rng import uniforms
from sim.transport.sampling import about, basis, ggx_density, sample_cosine, sample_lobe, smith_g2
from sim.transport.triangles import surface_of
from sim.transport.wires import meet_wires

SCATTER, SEVERAL = 1, 9
"""Purpose words of the random numbers used here, the second for light off several facets."""
_GRAZING = 1e-9
"""Least cosine of light that meets a rough mirror."""


@helper
def specular_share(laws: Laws, row: int, lamp: int, band: int, cosine: float, column: int) -> float:
    """Return mirror reflectance (column 0) or straight transmittance (column 1) at |cos|, by linear interpolation."""
    last = laws.specular.shape[3] - 1
    at = cosine * last
    node = min(int(at), last - 1)
    part = at - node
    low = laws.specular[row, lamp, band, node, column]
    return low + part * (laws.specular[row, lamp, band, node + 1, column] - low)


@helper
def part_share(laws: Laws, law: int, lamp: int, band: int, part: int, cosine: float) -> float:
    """Return the share of light that a part of a law takes; screens are left to `sim.transport.wires`."""
    if part == DIFFUSE:
        return laws.diffuse[law, lamp, band, 0]
    if part == LOBE:
        return laws.lobe[law, lamp, band]
    if part == THROUGH:
        return laws.diffuse[law, lamp, band, 1]
    row = laws.specular_row[law]
    if part == STRAIGHT:
        return specular_share(laws, row, lamp, band, cosine, 1) if row >= 0 else 0.0
    return specular_share(laws, row, lamp, band, cosine, 0) if row >= 0 else 0.0


@helper
def choose_part(laws: Laws, law: int, lamp: int, cosine: float, weights: F64, u: float) -> int:
    """Return the part that acts, or ABSORBED, and change the bands' weights to keep their means true.

    Parameters
    ----------
    weights : (b,) float
        Changed in place; a band at zero stays there.
    u : float
        Uniform in (0, 1).
    """
    specular, rough = laws.specular_row[law] >= 0, laws.facets[law, ALPHA] > 0.0
    s0, s1, s2, s3, s4 = 0.0, 0.0, 0.0, 0.0, 0.0
    for band in range(len(weights)):
        if weights[band] > 0.0:
            s2 = max(s2, laws.diffuse[law, lamp, band, 0])
            s3 = max(s3, laws.diffuse[law, lamp, band, 1])
            if specular:
                s0 = max(s0, part_share(laws, law, lamp, band, STRAIGHT, cosine))
                s1 = max(s1, part_share(laws, law, lamp, band, MIRROR, cosine))
            if rough:
                s4 = max(s4, laws.lobe[law, lamp, band])
    total = s0 + s1 + s2 + s3 + s4
    # Bands may prefer different parts, so that the largest shares add to more than one.
    scale = max(1.0, total)
    at = u * scale
    if at >= total:
        return ABSORBED
    part, share = STRAIGHT, s0
    if at >= s0 + s1 + s2 + s3:
        part, share = LOBE, s4
    elif at >= s0 + s1 + s2:
        part, share = THROUGH, s3
    elif at >= s0 + s1:
        part, share = DIFFUSE, s2
    elif at >= s0:
        part, share = MIRROR, s1
    chance = share / scale
    for band in range(len(weights)):
        if weights[band] > 0.0:
            weights[band] *= part_share(laws, law, lamp, band, part, cosine) / chance
    return part


@helper
def numbers_of(index: int, bounce: int, seed: int, stream: int) -> tuple[float, float, float, float]:
    """Return the random numbers of one meeting with a surface."""
    return uniforms(index, bounce, SCATTER, seed, stream)


@helper
def meet(
    surfaces: Surfaces,
    laws: Laws,
    triangle: int,
    lamp: int,
    d: F64,
    weights: F64,
    numbers: tuple[float, float, float, float],
    index: int,
    bounce: int,
    seed: int,
    stream: int,
) -> int:
    """Do what `scatter_by` does, and tell light off several FACETS of a rough mirror from that off one, LOBE."""
    nx, ny, nz = surfaces.normal[triangle, 0], surfaces.normal[triangle, 1], surfaces.normal[triangle, 2]
    along = d[0] * nx + d[1] * ny + d[2] * nz
    surface = surface_of(surfaces, triangle)
    law = surfaces.law[surface, 0 if along < 0.0 else 1]
    u1, u2, u3, u4 = numbers
    if laws.fill[law, 0] >= 0.0:
        return meet_wires(surfaces, laws, law, triangle, lamp, d, weights, index, bounce, seed, stream, u1, u2, u3, u4)
    part = choose_part(laws, law, lamp, min(1.0, abs(along)), weights, u1)
    if part in (ABSORBED, STRAIGHT):
        return part
    if part == MIRROR:
        d[0] -= 2.0 * along * nx
        d[1] -= 2.0 * along * ny
        d[2] -= 2.0 * along * nz
        return part
    side = -1.0 if along > 0.0 else 1.0
    nx, ny, nz = side * nx, side * ny, side * nz
    if part == LOBE:
        return _off_lobe(laws.facets[law], d, nx, ny, nz, u2, u3, u4, index, bounce, seed, stream)
    x, y, z = sample_cosine(u2, u3)
    d[0], d[1], d[2] = about(nx, ny, nz, x, y, z if part == DIFFUSE else -z)
    return part


@helper
def scatter_by(
    surfaces: Surfaces,
    laws: Laws,
    triangle: int,
    lamp: int,
    d: F64,
    weights: F64,
    numbers: tuple[float, float, float, float],
    index: int,
    bounce: int,
    seed: int,
    stream: int,
) -> int:
    """Return the part that acted where a ray met a triangle; change its direction and weights in place.

    `numbers` are those of `numbers_of`, which take a while: asked for before the ray they are there when it arrives.
    """
    part = meet(surfaces, laws, triangle, lamp, d, weights, numbers, index, bounce, seed, stream)
    return LOBE if part == FACETS else part


@helper
def scatter(
    surfaces: Surfaces,
    laws: Laws,
    triangle: int,
    lamp: int,
    d: F64,
    weights: F64,
    index: int,
    bounce: int,
    seed: int,
    stream: int,
) -> int:
    """Do what `scatter_by` does, with the numbers of this meeting."""
    numbers = numbers_of(index, bounce, seed, stream)
    return scatter_by(surfaces, laws, triangle, lamp, d, weights, numbers, index, bounce, seed, stream)


@helper
def _off_lobe(
    facets: F64,
    d: F64,
    nx: float,
    ny: float,
    nz: float,
    u1: float,
    u2: float,
    u3: float,
    index: int,
    bounce: int,
    seed: int,
    stream: int,
) -> int:
    """Turn d to where a rough mirror sends light: by one facet or, if that one is shaded, by several."""
    ax, ay, az, bx, by, bz = basis(nx, ny, nz)
    x = -(d[0] * ax + d[1] * ay + d[2] * az)
    y = -(d[0] * bx + d[1] * by + d[2] * bz)
    z = max(_GRAZING, -(d[0] * nx + d[1] * ny + d[2] * nz))
    ox, oy, oz, unshaded = sample_lobe(x, y, z, facets[ALPHA], u1, u2)
    shaded = u3 >= unshaded
    if shaded:
        ox, oy, oz = _off_several(facets, index, bounce, seed, stream)
    length = math.sqrt(ox * ox + oy * oy + oz * oz)
    d[0], d[1], d[2] = about(nx, ny, nz, ox / length, oy / length, oz / length)
    return FACETS if shaded else LOBE


@helper
def lobe_densities(facets: F64, normal: F64, d: F64, out: F64) -> tuple[float, float]:
    """Return how light that came along `d` to a rough mirror and is not absorbed leaves at `out`, per steradian.

    Returns
    -------
    once : float
        By one facet. Over all directions it adds up to what that facet does not send to others.
    several : float
        The density of light that left by several facets, which adds up to 1.
    """
    z = d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2]
    oz = out[0] * normal[0] + out[1] * normal[1] + out[2] * normal[2]
    hx, hy, hz = out[0] - d[0], out[1] - d[1], out[2] - d[2]
    if z > 0.0:
        oz = -oz
    length = math.sqrt(hx * hx + hy * hy + hz * hz)
    if oz <= 0.0 or length == 0.0:
        return 0.0, 0.0
    z, alpha = max(_GRAZING, abs(z)), facets[ALPHA]
    once = ggx_density((z + oz) / length, alpha) * smith_g2(z, oz, alpha) / (4.0 * z)
    return once, pdf_multiple(facets, oz)


@routine
def _off_several(facets: F64, index: int, bounce: int, seed: int, stream: int) -> tuple[float, float, float]:
    u1, u2, _, _ = uniforms(index, bounce, SEVERAL, seed, stream)
    return sample_multiple(facets, u1, u2)
