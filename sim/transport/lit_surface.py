"""The lamp's light at a matt surface that a path back from a receiver meets, see `sim.transport.paths`."""

import math

from sim.transport.arrays import F64, Model, Stack
from sim.transport.chain_light import add_chains
from sim.transport.chains import seldom
from sim.transport.jit import helper
from sim.transport.lamp_tree import behind_mirror, sample_lamp
from sim.transport.rng import Word
from sim.transport.shadow import from_image, from_lamp
from sim.transport.triangles import surface_of
from sim.transport.vectors import add_share, copy

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
def _light_at(
    model: Model,
    lamp: int,
    points: tuple[float, float, float, float],
    chained: bool,
    word: Word,
    sent: F64,
    scratch: F64,
    seen: F64,
    stack: Stack,
    total: F64,
    looked: float,
    kept: float,
) -> None:
    """Add the lamp's light at a matt surface, straight and by one mirror drawn from all, by the balance heuristic.

    `points` are uniform numbers: three for a point of the lamp, one for a mirror. `scratch` holds the place, the normal
    of the side that is looked at, and rows of scratch; `sent` is what that side sends back. With `chained` chains are
    drawn, too, by `word`. `looked` is the
    chance that the lamp is looked for there, `kept` that the path goes on to that side: each estimator is weighted by
    the rays that it really sends.
    """
    x, normal, target, o, d = scratch[0], scratch[1], scratch[2], scratch[3], scratch[4]
    mirrors = len(model.mirrors.surface)
    for way in range(2 if mirrors > 0 else 1):
        mirror = min(int(points[3] * mirrors), mirrors - 1)
        row, often = point_for(model, lamp, way, mirror, points, x, normal, o, d, target)
        if row < 0:
            continue
        copy(sent, seen)
        if way == 0:
            value, density, cosine = from_lamp(model, lamp, row, target, x, normal, o, d, seen, stack)
        else:
            value, density, cosine = from_image(model, lamp, row, target, mirror, x, normal, o, d, seen, stack)
            value, density = value * mirrors, density / mirrors
        value, density = value / often, density * often
        if value > 0.0:
            value *= looked * density / (looked * density + kept * cosine / math.pi)
            add_share(total, value, seen)
    if chained:
        drawn = seldom(model.mirrors.chain[lamp])
        add_chains(model, lamp, points, word, sent, scratch, seen, stack, total, drawn, looked, kept)


@helper
def turn_to(normal: F64, front: bool, side: F64) -> None:
    """Set side to the normal of one side of a surface."""
    for axis in range(3):
        side[axis] = normal[axis] if front else -normal[axis]


@helper
def look_around(
    model: Model,
    lamp: int,
    triangle: int,
    along: float,
    points: tuple[float, float, float, float],
    u: float,
    chained: bool,
    word: Word,
    o: F64,
    weights: F64,
    sent: F64,
    scratch: F64,
    seen: F64,
    stack: Stack,
    total: F64,
) -> tuple[float, float, float, float]:
    """Look for the lamp from one side of a matt surface, or from neither, by a uniform number; return `_chances`."""
    normal, front = model.surfaces.normal[triangle], along < 0.0
    law = model.surfaces.law[surface_of(model.surfaces, triangle), 0 if front else 1]
    if model.laws.fill[law, 0] >= 0.0:
        return 0.0, 0.0, 0.0, 0.0
    back, on, see_back, see_on = _chances(model, lamp, law, weights)
    if u < see_back + see_on:
        side = 0 if u < see_back else 1
        looked, kept = (see_back, back) if side == 0 else (see_on, on)
        copy(o, scratch[0])
        turn_to(normal, front == (side == 0), scratch[1])
        _send(model, lamp, law, weights, side, looked, sent)
        _light_at(model, lamp, points, chained, word, sent, scratch, seen, stack, total, looked, kept)
    return back, on, see_back, see_on
