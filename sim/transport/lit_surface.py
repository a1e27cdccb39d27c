"""The lamp's light at a matt surface, rough mirror or wire that a path back from a receiver meets.

`sim.transport.paths` tells of the paths.
"""

import math

from sim.transport.arrays import ALPHA, F64, Model, Stack
from sim.transport.chain_light import Drawn, next_light
from sim.transport.chains import ARRIVAL, PLACE, begin_chain, looks, seldom
from sim.transport.jit import helper, routine, variable
from sim.transport.lamp_tree import CENTRE, behind_mirror, sample_lamp
from sim.transport.parts import AGAIN, FACETS, LOBE, ONCE
from sim.transport.rng import Word
from sim.transport.scatter import lobe_densities
from sim.transport.shadow import aim, clear, reflect_point, through_mirror, unshaded, unshaded_image
from sim.transport.triangles import surface_of
from sim.transport.vectors import add_share, copy
from sim.transport.wires import wires_density

NARROW, LEAST_OFTEN = 500.0, 0.05
"""From a rough mirror the lamp is looked for less often than every time where it subtends more than the first times the
square of the lobe's width, since paths that go on find it there, but so often at least."""
WORTH = 20.0
"""At a matt surface of less than one over this reflectance the lamp is looked for less often than every time."""


@helper
def point_for(
    model: Model,
    lamp: int,
    way: int,
    mirror: int,
    points: tuple[float, float, float, float],
    x: F64,
    normal: F64,
    o: F64,
    d: F64,
    target: F64,
) -> tuple[int, float]:
    """Set target to a point of the lamp that suits a place or, by way 1, its image; return as `sample_lamp`."""
    if way == 1:
        behind_mirror(model, mirror, x, normal, o, d)
        return sample_lamp(model.emitters, lamp, o, d, points[0], points[1], points[2], target)
    return sample_lamp(model.emitters, lamp, x, normal, points[0], points[1], points[2], target)


@routine
def sent_to(model: Model, part: int, triangle: int, arrival: F64, d: F64) -> tuple[float, float]:
    """Return densities per steradian at d of a path that came along `arrival` and left a screen or a rough mirror.

    The second is that of light off several facets, the first that of all else.
    """
    surfaces = model.surfaces
    normal = surfaces.normal[triangle]
    along = arrival[0] * normal[0] + arrival[1] * normal[1] + arrival[2] * normal[2]
    law = surfaces.law[surface_of(surfaces, triangle), 0 if along < 0.0 else 1]
    if part in (ONCE, AGAIN):
        return wires_density(surfaces, model.laws, law, triangle, part, arrival, d), 0.0
    once, several = lobe_densities(model.laws.facets[law], normal, arrival, d)
    return once, several if part == FACETS else 0.0


@helper
def _chances(model: Model, lamp: int, law: int, weights: F64) -> tuple[float, float, float, float]:
    """Return how likely a path goes on from a matt surface, and how likely the lamp is looked for there.

    Both for the side of arrival, then the far one. The lamp is looked for the less, the less there is to gain.
    """
    back, on, most = 0.0, 0.0, 0.0
    for band in range(len(weights)):
        back = max(back, weights[band] * model.laws.diffuse[law, lamp, band, 0])
        on = max(on, weights[band] * model.laws.diffuse[law, lamp, band, 1])
        most = max(most, weights[band])
    if back + on <= 0.0:
        return 0.0, 0.0, 0.0, 0.0
    chance = min(1.0, WORTH * (back + on) / most)
    return back / most, on / most, chance * back / (back + on), chance * on / (back + on)


@helper
def _send(model: Model, lamp: int, law: int, weights: F64, side: int, chance: float, sent: F64) -> None:
    """Set `sent` to what the side of arrival (0) or the far one (1) sends back, looked at with some chance."""
    for band in range(len(weights)):
        sent[band] = weights[band] * model.laws.diffuse[law, lamp, band, side] / chance


@helper
def arrives(
    model: Model,
    lamp: int,
    way: int,
    mirror: int,
    o: F64,
    d: F64,
    distance: float,
    weights: F64,
    scratch: F64,
    stack: Stack,
) -> bool:
    """Return whether light gets from o along d to a point of the lamp, or by way 1 by a mirror to that point's image.

    That lies at a distance [m]. o and d move along, weights take what is met on the way.
    """
    if way == 0:
        return clear(model, lamp, o, d, distance, weights, stack)
    return through_mirror(model, lamp, mirror, o, d, distance, weights, stack)


@helper
def _by_way(
    model: Model,
    lamp: int,
    way: int,
    points: tuple[float, float, float, float],
    scratch: F64,
    weights: F64,
    stack: Stack,
) -> tuple[float, float, float]:
    """Return what arrives at a place straight from the lamp or, by way 1, by one mirror drawn from all.

    `points` are uniform numbers: three for a point of the lamp, one for the mirror. Others as in `at_turn`, and what is
    returned is told likewise, over the chance of the point and the mirror.
    """
    x, normal, target, o, d, towards = scratch[0], scratch[1], scratch[2], scratch[3], scratch[4], scratch[PLACE]
    mirrors = len(model.mirrors.surface)
    mirror = min(int(points[3] * mirrors), mirrors - 1)
    row, often = point_for(model, lamp, way, mirror, points, x, normal, o, d, target)
    if row < 0:
        return 0.0, 0.0, 0.0
    copy(normal, towards)
    if normal[0] == 0.0 and normal[1] == 0.0 and normal[2] == 0.0:
        if way == 1:
            reflect_point(model, mirror, target, o)
        aim(x, target if way == 0 else o, towards)
    if way == 0:
        value, density, cosine, distance = unshaded(model, lamp, row, target, x, towards, d)
    else:
        value, density, cosine, distance = unshaded_image(model, lamp, row, target, mirror, x, towards, o, d)
        value, density = value * mirrors, density / mirrors
    if value <= 0.0:
        return 0.0, 0.0, 0.0
    copy(d, target)
    copy(x, o)
    if not arrives(model, lamp, way, mirror, o, d, distance, weights, scratch, stack):
        return 0.0, 0.0, 0.0
    return value / often, density * often, cosine


@helper
def lobe_often(model: Model, lamp: int, triangle: int, back: bool, x: F64) -> float:
    """Return how often the lamp is to be looked for from a rough mirror at x, or from its back.

    For lamps without pieces it is no work to draw a point, and they are small, most often.
    """
    emitters, pieces = model.emitters, model.emitters.piece_first[lamp]
    if pieces == emitters.piece_first[lamp + 1]:
        return 1.0
    square = 0.0
    for axis in range(3):
        gap = emitters.fork[2 * pieces, CENTRE + axis] - x[axis]
        square += gap * gap
    alpha = model.laws.facets[model.surfaces.law[surface_of(model.surfaces, triangle), 1 if back else 0], ALPHA]
    return min(1.0, max(LEAST_OFTEN, NARROW * alpha * alpha * square / emitters.area[lamp]))


@helper
def _balanced(ways: tuple[float, float], by_look: float, by_all: float, luck: float) -> float:
    """Return what two ways send to the lamp per steradian, times how likely it is looked for over all that finds it.

    Light off one facet and off several has weights of its own, since a path knows by which it went.
    """
    once, several = ways
    return once * by_look / (by_all + luck * once) + several * by_look / (by_all + luck * several)


@helper
def _add_both(
    total: F64, value: float, matt: float, rough: float, weights: F64, often: float, sent: F64, seen: F64
) -> None:
    """Add what a rough mirror with a matt part sends back, each part of `sent` by a factor of its own."""
    for band in range(len(sent)):
        if sent[band] > 0.0:
            part = weights[band] / (often * sent[band])
            total[band] += value * seen[band] * (matt * (1.0 - part) + rough * part)


@helper
def look_for_lamp(
    model: Model,
    lamp: int,
    part: int,
    triangle: int,
    points: tuple[float, float, float, float],
    chained: bool,
    word: Word,
    weights: F64,
    sent: F64,
    scratch: F64,
    seen: F64,
    stack: Stack,
    total: F64,
    odds: tuple[float, float, float],
) -> None:
    """Add the lamp's light at a place that a path meets, straight, by one mirror and by a chain.

    All this is one loop with one call for each kind of light, since a card has a copy of all below for each call.

    Parameters
    ----------
    part : int
        ONCE or AGAIN at wires, LOBE or FACETS where a rough mirror sent the path on; whatever else at a matt surface.
    points : (float, float, float, float)
        Uniform numbers: three for a point of the lamp, one for a mirror, or a chain's first side.
    chained : bool
        Whether chains are drawn, by `word`.
    weights : (b,) float
        Of the path that a rough mirror sent on.
    sent : (b,) float
        What the place sends on of what arrives, at a rough mirror by its matt part and by its lobe.
    scratch : (SCRATCH_ROWS, 3) float
        The place, the normal of the side that is looked at, or zeros for a wire, which sends light all around, and rows
        of scratch; in row ARRIVAL the direction of the path before the place.
    odds : (float, float, float)
        How likely the lamp is looked for from a matt surface, how likely a path goes on from there to that side, and
        how likely the lamp is looked for from a rough mirror: each estimator is weighted by the rays that it really
        sends.
    """
    looked, kept, rough = odds
    ways, way = 2 if len(model.mirrors.surface) > 0 else 1, variable(0)
    wire, lobe = part in (ONCE, AGAIN), part in (LOBE, FACETS)
    often, luck, chain = 1.0, 1.0, Drawn(variable(0), variable(0), 1.0, 1.0)
    while True:
        if way < ways:
            copy(sent, seen)
            value, density, cosine = _by_way(model, lamp, way, points, scratch, seen, stack)
            way += 1
        elif chained:
            if way == ways:
                drawn = seldom(model.mirrors.chain[lamp])
                if not begin_chain(scratch, word, drawn):
                    return
                chain, way = Drawn(variable(0), variable(0), drawn, 1.0), way + 1
            chain, value, density, cosine = next_light(model, lamp, chain, points, word, sent, scratch, seen, stack)
            if chain.corners == 0:
                return
            often, luck = chain.chance * looks(chain.turns), chain.luck
        else:
            return
        if value <= 0.0:
            continue
        share, by_look = 0.0, rough * density
        if wire or lobe:
            # The cosine law is in the value: for a wire, which has no normal, that of one towards the light.
            to_lamp = sent_to(model, part, triangle, scratch[ARRIVAL], scratch[2])
            share = math.pi / cosine * _balanced(to_lamp, by_look, by_look * often, luck)
        if wire:
            add_share(total, value * share, seen)
            continue
        matt = looked * density / (looked * density * often + luck * kept * cosine / math.pi)
        if lobe:
            _add_both(total, value, matt, share, weights, rough, sent, seen)
        else:
            add_share(total, value * matt, seen)


@helper
def turn_to(normal: F64, front: bool, side: F64) -> None:
    """Set side to the normal of one side of a surface."""
    for axis in range(3):
        side[axis] = normal[axis] if front else -normal[axis]


@helper
def choose_side(
    model: Model,
    lamp: int,
    triangle: int,
    along: float,
    u: float,
    o: F64,
    weights: F64,
    sent: F64,
    scratch: F64,
) -> tuple[tuple[float, float, float, float], float, float]:
    """Choose by a uniform number from which side of a matt surface the lamp is looked for, or from neither.

    Returns `_chances`, and for that side `looked`, 0 for neither, and `kept`; `sent` and rows of scratch are set for
    `look_for_lamp`.
    """
    normal, front = model.surfaces.normal[triangle], along < 0.0
    law = model.surfaces.law[surface_of(model.surfaces, triangle), 0 if front else 1]
    if model.laws.fill[law, 0] >= 0.0:
        return (0.0, 0.0, 0.0, 0.0), 0.0, 0.0
    chances = _chances(model, lamp, law, weights)
    back, on, see_back, see_on = chances
    if u >= see_back + see_on:
        return chances, 0.0, 0.0
    side = 0 if u < see_back else 1
    looked, kept = (see_back, back) if side == 0 else (see_on, on)
    copy(o, scratch[0])
    turn_to(normal, front == (side == 0), scratch[1])
    _send(model, lamp, law, weights, side, looked, sent)
    return chances, looked, kept
