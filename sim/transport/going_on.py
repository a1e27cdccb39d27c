"""How a path back from a receiver goes on from a surface, and what it takes to look for the lamp there."""

import math

import numpy as np

from sim.transport.arrays import F64, Model
from sim.transport.chains import ARRIVAL
from sim.transport.jit import helper
from sim.transport.lit_surface import lobe_often, sent_to, turn_to
from sim.transport.openings import aim_at_opening, aimed_density, is_aimed
from sim.transport.parts import ABSORBED, AGAIN, DIFFUSE, FACETS, LOBE, ONCE, THROUGH
from sim.transport.rng import Word, to_unit
from sim.transport.scatter import chance_to_stay, meet, numbers_of
from sim.transport.sobol import mix
from sim.transport.triangles import surface_of
from sim.transport.vectors import along_normal, copy

_LOBE = np.uint64(1 << 10)
"""Word of a random number that no chain takes."""


@helper
def _stand(o: F64, normal: F64, along: float, part: int, scratch: F64) -> None:
    """Note the place from which a path goes on, and the normal of the side; a wire has none."""
    copy(o, scratch[6])
    turn_to(normal, along > 0.0, scratch[7])
    if part in (ONCE, AGAIN):
        scratch[7, 0], scratch[7, 1], scratch[7, 2] = 0.0, 0.0, 0.0


@helper
def turned(
    model: Model,
    lamp: int,
    triangle: int,
    d: F64,
    weights: F64,
    draw: tuple[int, int, int, int],
    scratch: F64,
) -> int:
    """Note how a path came to a surface, and do there what `meet` does; `draw` is what `numbers_of` takes."""
    copy(d, scratch[ARRIVAL])
    index, bounce, seed, stream = draw
    numbers = numbers_of(index, bounce, seed, stream)
    return meet(model.surfaces, model.laws, triangle, lamp, d, weights, numbers, index, bounce, seed, stream)


@helper
def stand_to_look(
    model: Model,
    lamp: int,
    triangle: int,
    part: int,
    whole: bool,
    chances: tuple[float, float, float, float],
    u: float,
    word: Word,
    along: float,
    o: F64,
    weights: F64,
    sent: F64,
    scratch: F64,
) -> tuple[int, float]:
    """Return the part by which a wire or a rough mirror sent a path on, and how often the lamp is looked for there.

    What `look_for_lamp` needs there is set. The part is DIFFUSE at matt surfaces, for which all is set, and where the
    lamp is not looked for from a rough mirror, or from its far side, by the uniform number u as in `choose_side`.
    """
    _, _, see_back, see_on = chances
    wire, often = part in (ONCE, AGAIN), 1.0
    if not wire and not (whole and part in (LOBE, FACETS)):
        return DIFFUSE, often
    if not wire:
        often = (1.0 - see_on) * lobe_often(model, lamp, triangle, along > 0.0, o)
        if see_back <= u < see_back + see_on or to_unit(mix(word, _LOBE)) * (1.0 - see_on) >= often:
            return DIFFUSE, often
    copy(o, scratch[0])
    turn_to(model.surfaces.normal[triangle], along < 0.0, scratch[1])
    if wire:
        scratch[1, 0], scratch[1, 1], scratch[1, 2] = 0.0, 0.0, 0.0
    for band in range(len(sent)):
        sent[band] = weights[band] / often + (sent[band] if u < see_back else 0.0)
    return part, often


@helper
def stay_or_end(model: Model, lamp: int, triangle: int, along: float, whole: bool, weights: F64) -> tuple[float, float]:
    """Return the chances that a path goes on from the near side of a matt surface, and that it ends there.

    None ends where none can be sent to an opening instead.
    """
    law = model.surfaces.law[surface_of(model.surfaces, triangle), 0 if along < 0.0 else 1]
    if not is_aimed(model.emitters, lamp, whole) or model.laws.fill[law, 0] >= 0.0:
        return 0.0, 0.0
    stay, end = chance_to_stay(model.laws, law, lamp, min(1.0, abs(along)), weights)
    return (stay, end) if stay > 0.0 else (0.0, 0.0)


@helper
def send_to_opening(
    model: Model,
    lamp: int,
    triangle: int,
    along: float,
    part: int,
    staying: tuple[float, float],
    draw: tuple[int, int, int, int],
    o: F64,
    d: F64,
    weights: F64,
    scratch: F64,
) -> int:
    """Send a path that would end at a matt surface to an opening, if there is one; return the part that acts.

    Its weights become those of a path that goes on by chance, as it might have come that way. `staying` is what
    `stay_or_end` told before.
    """
    stay, end = staying
    if part != ABSORBED or end <= 0.0:
        return part
    turn_to(model.surfaces.normal[triangle], along < 0.0, scratch[1])
    index, bounce, seed, stream = draw
    _, u, v, _ = numbers_of(index, bounce, seed, stream)
    if aim_at_opening(model.emitters, lamp, o, scratch[1], u, v, d) <= 0.0:
        return ABSORBED
    law = model.surfaces.law[surface_of(model.surfaces, triangle), 0 if along < 0.0 else 1]
    for band in range(len(weights)):
        weights[band] *= model.laws.diffuse[law, lamp, band, 0] / stay
    return DIFFUSE


@helper
def go_on(
    model: Model,
    lamp: int,
    part: int,
    triangle: int,
    chances: tuple[float, float, float, float],
    staying: tuple[float, float],
    rough: float,
    o: F64,
    d: F64,
    weights: F64,
    scratch: F64,
) -> tuple[float, float]:
    """Note where a path goes on; return its density at d per steradian, and how likely the lamp was looked for.

    Where paths that end are sent to openings, weights take what that adds to the density.
    """
    normal = model.surfaces.normal[triangle]
    along = along_normal(d, normal)
    _stand(o, normal, along, part, scratch)
    if part == THROUGH:
        return chances[1] * abs(along) / math.pi, chances[3]
    if part == DIFFUSE:
        by_law, (stay, end) = abs(along) / math.pi, staying
        sent_there = 0.0
        if end > 0.0:
            sent_there = end * aimed_density(model.emitters, lamp, o, scratch[7], d)
        if sent_there > 0.0:
            for band in range(len(weights)):
                weights[band] *= stay * by_law / (stay * by_law + sent_there)
        return chances[0] * by_law + sent_there, chances[2]
    once, several = sent_to(model, part, triangle, scratch[ARRIVAL], d)
    return several if part == FACETS else once, rough
