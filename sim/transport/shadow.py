"""What arrives at a point straight from a lamp, or by way of one plane mirror."""

import math

from sim.transport.arrays import F64, Model, Stack
from sim.transport.emission import leaving
from sim.transport.jit import helper, routine, variable
from sim.transport.parts import MIRROR, STRAIGHT
from sim.transport.scatter import part_share
from sim.transport.tree_traverse import MISS, next_hit
from sim.transport.triangles import surface_of
from sim.transport.wires import between_wires

SHORT = 1e-8
"""A shadow ray ends this far [m] before its target, so that the target does not shade itself."""
ON_MIRROR = 1e-7


@helper
def pass_straight(model: Model, lamp: int, triangle: int, d: F64, weights: F64) -> bool:
    """Multiply weights by the straight share of what a ray meets; return whether anything is left."""
    surfaces = model.surfaces
    normal = surfaces.normal[triangle]
    along = d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2]
    surface = surface_of(surfaces, triangle)
    law = surfaces.law[surface, 0 if along < 0.0 else 1]
    screen, left = model.laws.fill[law, 0] >= 0.0, False
    passed = between_wires(model.laws, surfaces, law, triangle, d) if screen else 1.0
    for band in range(len(weights)):
        if not screen:
            passed = part_share(model.laws, law, lamp, band, STRAIGHT, min(1.0, abs(along)))
        weights[band] *= passed
        left = left or weights[band] > 0.0
    return left


@helper
def reflect(model: Model, lamp: int, triangle: int, d: F64, weights: F64) -> None:
    """Turn d where it meets a plane mirror; weights take what that leaves."""
    normal = model.surfaces.normal[triangle]
    along = d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2]
    law = model.surfaces.law[surface_of(model.surfaces, triangle), 0 if along < 0.0 else 1]
    for band in range(len(weights)):
        weights[band] *= part_share(model.laws, law, lamp, band, MIRROR, min(1.0, abs(along)))
    for axis in range(3):
        d[axis] -= 2.0 * along * normal[axis]


@helper
def _is_opaque(model: Model, triangle: int) -> bool:
    """Return whether no light passes either side of a triangle straight, without a look at any band."""
    laws, law = model.laws, model.surfaces.law[surface_of(model.surfaces, triangle)]
    opaque = laws.fill[law[0], 0] < 0.0 and laws.fill[law[1], 0] < 0.0
    return opaque and laws.specular_row[law[0]] < 0 and laws.specular_row[law[1]] < 0


@routine
def _clear_beyond(
    model: Model, lamp: int, o: F64, d: F64, distance: float, t: float, triangle: int, weights: F64, stack: Stack
) -> bool:
    """Return what `clear` does for a ray that meets a triangle at distance t."""
    while triangle != MISS:
        if not pass_straight(model, lamp, triangle, d, weights):
            return False
        for axis in range(3):
            o[axis] += t * d[axis]
        distance -= t
        t, triangle = next_hit(model.tree, o, d, distance - SHORT, stack, triangle)
    return True


@helper
def clear(model: Model, lamp: int, o: F64, d: F64, distance: float, weights: F64, stack: Stack) -> bool:
    """Return whether light gets through over a distance [m]; o moves along, weights take what screens leave."""
    t, triangle = next_hit(model.tree, o, d, distance - SHORT, stack, variable(MISS))
    # Most rays end here: what takes all arrays of a model is called for few.
    if triangle == MISS:
        return True
    return not _is_opaque(model, triangle) and _clear_beyond(model, lamp, o, d, distance, t, triangle, weights, stack)


@routine
def _to_surface_beyond(
    model: Model,
    lamp: int,
    surface: int,
    o: F64,
    d: F64,
    distance: float,
    t: float,
    triangle: int,
    weights: F64,
    stack: Stack,
) -> int:
    """Return what `to_surface` does for a ray that meets a triangle before the surface at distance t."""
    while triangle != MISS and surface_of(model.surfaces, triangle) != surface:
        if not pass_straight(model, lamp, triangle, d, weights):
            return MISS
        for axis in range(3):
            o[axis] += t * d[axis]
        distance -= t
        t, triangle = next_hit(model.tree, o, d, distance + ON_MIRROR, stack, triangle)
    for axis in range(3):
        o[axis] += t * d[axis]
    return triangle


@helper
def to_surface(
    model: Model, lamp: int, surface: int, o: F64, d: F64, distance: float, weights: F64, stack: Stack
) -> int:
    """Move o to a mirror that lies `distance` along d, through screens; return the triangle met there, or MISS."""
    t, triangle = next_hit(model.tree, o, d, distance + ON_MIRROR, stack, variable(MISS))
    if triangle == MISS:
        return MISS
    if surface_of(model.surfaces, triangle) != surface:
        if _is_opaque(model, triangle):
            return MISS
        return _to_surface_beyond(model, lamp, surface, o, d, distance, t, triangle, weights, stack)
    for axis in range(3):
        o[axis] += t * d[axis]
    return triangle


@helper
def through_mirror(
    model: Model, lamp: int, mirror: int, o: F64, d: F64, distance: float, weights: F64, stack: Stack
) -> bool:
    """Return whether light gets from o by a plane mirror to a point whose image lies `distance` [m] along d.

    o and d move along, weights take what screens and the mirror leave.
    """
    place, across = model.mirrors.point[mirror], model.mirrors.normal[mirror]
    height, slope = 0.0, 0.0
    for axis in range(3):
        height += (place[axis] - o[axis]) * across[axis]
        slope += d[axis] * across[axis]
    first_leg = height / slope
    triangle = to_surface(model, lamp, model.mirrors.surface[mirror], o, d, first_leg, weights, stack)
    if triangle == MISS:
        return False
    reflect(model, lamp, triangle, d, weights)
    return clear(model, lamp, o, d, distance - first_leg, weights, stack)


@helper
def reflect_point(model: Model, mirror: int, point: F64, image: F64) -> None:
    """Set image to a point behind a plane mirror."""
    place, across = model.mirrors.point[mirror], model.mirrors.normal[mirror]
    height = 0.0
    for axis in range(3):
        height += (point[axis] - place[axis]) * across[axis]
    for axis in range(3):
        image[axis] = point[axis] - 2.0 * height * across[axis]


@helper
def aim(start: F64, target: F64, d: F64) -> float:
    """Set d to the unit vector from start to target; return their distance [m]."""
    d[0], d[1], d[2] = target[0] - start[0], target[1] - start[1], target[2] - start[2]
    distance = math.sqrt(d[0] * d[0] + d[1] * d[1] + d[2] * d[2])
    for axis in range(3):
        d[axis] /= distance
    return distance


@helper
def unshaded(
    model: Model, lamp: int, row: int, target: F64, x: F64, normal: F64, d: F64
) -> tuple[float, float, float, float]:
    """Return irradiance at x for a lamp that shines from one point of its area, were nothing in between.

    Parameters
    ----------
    row : int
        Emissive triangle on which `target` lies.
    x, normal : (3,) float
        Receiving point and unit normal.
    d : (3,) float
        Set to the direction towards the target.

    Returns
    -------
    irradiance : float
        Cosines over pi distance squared [m-2]: the mean over uniform points of the lamp is irradiance per watt. The
        lamp's own law stands for its cosine where it has one.
    density : float
        Density per steradian at x of uniform points of the lamp.
    cosine : float
        Of the direction of arrival with the normal.
    distance : float [m]
    """
    distance = aim(x, target, d)
    emitter = model.emitters.normal[row]
    cos_lamp = -(d[0] * emitter[0] + d[1] * emitter[1] + d[2] * emitter[2])
    cos_here = d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2]
    if cos_lamp <= 0.0 or cos_here <= 0.0:
        return 0.0, 0.0, 0.0, distance
    density = distance * distance / (cos_lamp * model.emitters.area[lamp])
    sent = leaving(model.emitters, lamp, cos_lamp, -d[0], -d[1], -d[2])
    return cos_here * sent / (math.pi * distance * distance), density, cos_here, distance


@helper
def unshaded_image(
    model: Model, lamp: int, row: int, target: F64, mirror: int, x: F64, normal: F64, o: F64, d: F64
) -> tuple[float, float, float, float]:
    """Return what `unshaded` does, by way of a plane mirror: distance and direction are those of the target's image.

    `o` is scratch, and `target` is kept.
    """
    point, across = model.mirrors.point[mirror], model.mirrors.normal[mirror]
    height, depth = 0.0, 0.0
    for axis in range(3):
        height += (x[axis] - point[axis]) * across[axis]
        depth += (target[axis] - point[axis]) * across[axis]
    if height * depth <= 0.0:
        return 0.0, 0.0, 0.0, 0.0
    for axis in range(3):
        o[axis] = target[axis] - 2.0 * depth * across[axis]
    distance = aim(x, o, d)
    cos_here = d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2]
    emitter = model.emitters.normal[row]
    along = d[0] * across[0] + d[1] * across[1] + d[2] * across[2]
    cos_lamp = 0.0
    for axis in range(3):
        # What leaves the lamp itself: the image's direction, reflected.
        o[axis] = 2.0 * along * across[axis] - d[axis]
        cos_lamp += o[axis] * emitter[axis]
    if cos_lamp <= 0.0 or cos_here <= 0.0:
        return 0.0, 0.0, 0.0, distance
    sent = leaving(model.emitters, lamp, cos_lamp, o[0], o[1], o[2])
    density = distance * distance / (cos_lamp * model.emitters.area[lamp])
    return cos_here * sent / (math.pi * distance * distance), density, cos_here, distance
