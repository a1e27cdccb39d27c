"""Paths from receivers back into the scene; `sim.transport.direct` tells which light is theirs."""

import math

import numpy as np

from sim.transport.arrays import BOOL, F64, I64, Emitters, Model, Stack
from sim.transport.chains import ARRIVAL, NOWHERE, SCRATCH_ROWS, has_chains, looks, seldom, turn_on
from sim.transport.direct import place_in, straight_share
from sim.transport.emission import leaving, scramble_key, stream_of
from sim.transport.jit import helper, kernel, variable
from sim.transport.lamp_tree import behind_mirror, lamp_often
from sim.transport.lit_surface import choose_side, lobe_often, look_for_lamp, sent_to, turn_to
from sim.transport.parts import ABSORBED, AGAIN, DIFFUSE, FACETS, LOBE, MIRROR, ONCE, STRAIGHT, THROUGH
from sim.transport.rng import Word, to_unit, uniforms
from sim.transport.sampling import basis, sample_cosine
from sim.transport.scatter import meet, numbers_of
from sim.transport.sobol import mix, scrambled
from sim.transport.tree_traverse import MISS, new_stack, next_hit
from sim.transport.triangles import face_of, lamp_of, surface_of
from sim.transport.vectors import add_share, copy

PATH = 4
LIGHT = 5
SIDE = 6
_LOBE = np.uint64(1 << 10)
"""Word of a random number that no chain takes."""
BOUNCE_LIMIT = 100_000
_PER_RECEIVER = 1 << 32


@helper
def _along(d: F64, normal: F64) -> float:
    return float(d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2])


@helper
def _brightness(emitters: Emitters, lamp: int, along: float, d: F64) -> float:
    """Return pi times a lamp's radiance per watt against d [m-2]: by Lambert's law the same from everywhere."""
    return leaving(emitters, lamp, -along, -d[0], -d[1], -d[2]) / (-along * emitters.area[lamp])


@helper
def _lamp_share(
    model: Model,
    lamp: int,
    cos_lamp: float,
    travelled: float,
    way: tuple[int, int, bool, bool, float, float],
    density: float,
    often: float,
) -> float:
    """Return the weight of a path that runs into its lamp's emissive front: what other estimators leave to it.

    `travelled` since the last matt surface (or the receiver); `density` that of the path's direction where `travelled`
    starts, `cos_lamp` its cosine here, `often` as by `sample_lamp`, times the chance that the lamp was looked for.

    `way` tells how many mirror-like reflections since then and how many matt surfaces there were, whether the
    only turn was at a mirror which images take care of, whether the path brings all that `gather_direct` does not (else
    photons bring what came by other mirrors), the chance of drawing the path's chain of turns, 0 if none can be drawn,
    and about what share that turns on, see `sim.transport.chains`.
    """
    turns, matt, by_image, whole, chance, luck = way
    by_chain = turns > 1 or (turns == 1 and not by_image)
    if by_chain and not whole:
        return 0.0
    if by_chain and chance == 0.0:
        return 1.0
    if not by_chain and matt == 0 and (turns == 1 or not whole):
        return 0.0
    by_light = travelled * travelled / (cos_lamp * model.emitters.area[lamp])
    if by_chain:
        return density * luck / (density * luck + by_light * often * chance)
    if matt == 0:
        return straight_share(density, by_light)
    by_light *= often
    if turns == 1:
        by_light /= len(model.mirrors.surface)
    return density / (density + by_light)


@helper
def _lamp_points(
    index: int, bounce: int, seed: int, stream: int, point: int, key: Word, first: bool
) -> tuple[tuple[float, float, float, float], float]:
    """Return four uniform numbers for `look_for_lamp` and one for the side; most are scrambled at the first surface."""
    u0, u1, u2, u3 = uniforms(index, bounce, LIGHT, seed, stream)
    if first:
        u1, u2, u3 = scrambled(point, 4, key), scrambled(point, 5, key), scrambled(point, 6, key)
        return (u1, u2, u3, u0), scrambled(point, 7, key)
    return (u1, u2, u3, u0), uniforms(index, bounce, SIDE, seed, stream)[0]


@helper
def _mirror_of(model: Model, triangle: int) -> int:
    """Return the row of a triangle's surface among the plane mirrors; it must be one."""
    surface, row = surface_of(model.surfaces, triangle), 0
    while model.mirrors.surface[row] != surface:
        row += 1
    return row


@helper
def _move(o: F64, d: F64, t: float) -> None:
    for axis in range(3):
        o[axis] += t * d[axis]


@helper
def _stand(o: F64, normal: F64, along: float, part: int, scratch: F64) -> None:
    """Note the place from which a path goes on, and the normal of the side; a wire has none."""
    copy(o, scratch[6])
    turn_to(normal, along > 0.0, scratch[7])
    if part in (ONCE, AGAIN):
        scratch[7, 0], scratch[7, 1], scratch[7, 2] = 0.0, 0.0, 0.0


@helper
def _turned(
    model: Model,
    lamp: int,
    triangle: int,
    d: F64,
    weights: F64,
    index: int,
    bounce: int,
    seed: int,
    stream: int,
    scratch: F64,
) -> int:
    """Note how a path came to a surface, and do there what `meet` does."""
    copy(d, scratch[ARRIVAL])
    numbers = numbers_of(index, bounce, seed, stream)
    return meet(model.surfaces, model.laws, triangle, lamp, d, weights, numbers, index, bounce, seed, stream)


@helper
def _stand_to_look(
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
def _go_on(
    model: Model,
    part: int,
    triangle: int,
    chances: tuple[float, float, float, float],
    rough: float,
    o: F64,
    d: F64,
    scratch: F64,
) -> tuple[float, float]:
    """Note where a path goes on; return its density at d per steradian, and how likely the lamp was looked for."""
    normal = model.surfaces.normal[triangle]
    along = _along(d, normal)
    _stand(o, normal, along, part, scratch)
    if part in (DIFFUSE, THROUGH):
        kept, looked = (chances[0], chances[2]) if part == DIFFUSE else (chances[1], chances[3])
        return kept * abs(along) / math.pi, looked
    once, several = sent_to(model, part, triangle, scratch[ARRIVAL], d)
    return several if part == FACETS else once, rough


@helper
def _chance_drawn(model: Model, lamp: int, side: int, turns: int, matt: int, chance: float) -> float:
    """Return how likely a path's chain is drawn and the lamp looked for at its end; 0 where it cannot be drawn."""
    if side == NOWHERE:
        return 0.0
    return chance * looks(turns) * (seldom(model.mirrors.chain[lamp]) if matt > 0 else 1.0)


@helper
def _path(
    model: Model,
    lamp: int,
    index: int,
    seed: int,
    stream: int,
    key: Word,
    point: int,
    whole: bool,
    o: F64,
    d: F64,
    weights: F64,
    scratch: F64,
    seen: F64,
    sent: F64,
    stack: Stack,
    total: F64,
    density: float,
) -> None:
    """Follow one path back from a receiver at o towards d and add what it finds of a lamp, per watt [m-2].

    `density` is that of d at the receiver, per steradian; `key` and `point` give scrambled points for the first matt
    surface; `whole` as in `gather_direct`. Rows 6 and 7 of scratch hold place and normal of the last matt surface, or
    the receiver, as the mirrors since show them.
    """
    surfaces, emitters, chained = model.surfaces, model.emitters, whole and has_chains(model)
    turns, matt, by_image, triangle, travelled, looked = variable(0), variable(0), False, variable(MISS), 0.0, 1.0
    side, corners, chance, luck, word = variable(NOWHERE), variable(0), 0.0, 0.0, mix(key, np.uint64(point))
    for bounce in range(1, BOUNCE_LIMIT):
        t, triangle = next_hit(model.tree, o, d, np.inf, stack, triangle)
        if triangle == MISS:
            return
        travelled += t
        _move(o, d, t)
        normal = surfaces.normal[triangle]
        along, own = _along(d, normal), mix(word, np.uint64(bounce))
        if along < 0.0 and lamp_of(surfaces, triangle) == lamp:
            often, drawn = looked, _chance_drawn(model, lamp, side, turns, matt, chance)
            if matt > 0 or drawn > 0.0:
                often *= lamp_often(emitters, lamp, scratch[6], scratch[7], face_of(surfaces, triangle), o)
            way = turns, matt, by_image, whole, drawn, luck
            share = _lamp_share(model, lamp, -along, travelled, way, density, often)
            add_share(total, share * _brightness(emitters, lamp, along, d), weights)
        points, which = _lamp_points(index, bounce, seed, stream, point, key, matt == 0)
        chances, see, to = choose_side(model, lamp, triangle, along, which, o, weights, sent, scratch)
        part = _turned(model, lamp, triangle, d, weights, index, bounce, seed, stream, scratch)
        place, rough = _stand_to_look(
            model, lamp, triangle, part, whole, chances, which, own, along, o, weights, sent, scratch
        )
        if see > 0.0 or place != DIFFUSE:
            odds = see if see > 0.0 else 1.0, to, rough
            look_for_lamp(
                model, lamp, place, triangle, points, chained, own, weights, sent, scratch, seen, stack, total, odds
            )
        if part == ABSORBED:
            return
        if part == MIRROR or (part in (LOBE, FACETS) and not whole):
            turns, mirrored = turns + 1, part == MIRROR
            chain = turn_on(model, lamp, triangle, chained and mirrored, turns, scratch, side, corners, chance, luck)
            side, corners, chance, luck = chain
            by_image = turns == 1 and mirrored and surfaces.mirror[surface_of(surfaces, triangle)] == 1
            if by_image and matt > 0 and side == NOWHERE:
                behind_mirror(model, _mirror_of(model, triangle), scratch[6], scratch[7], scratch[6], scratch[7])
        elif part != STRAIGHT:
            density, looked = _go_on(model, part, triangle, chances, rough, o, d, scratch)
            turns, travelled, matt, side = 0, 0.0, matt + 1, variable(NOWHERE)


@helper
def path_at(
    model: Model,
    lamp: int,
    receiver: int,
    index: int,
    key: Word,
    whole: bool,
    seed: int,
    stream: int,
    o: F64,
    d: F64,
    weights: F64,
    scratch: F64,
    seen: F64,
    sent: F64,
    stack: Stack,
    total: F64,
) -> None:
    """Follow one path back from a receiver and add what it finds; `key` is the receiver's, `o` to `sent` scratch."""
    normal = model.receivers.normal[receiver]
    nx, ny, nz = normal[0], normal[1], normal[2]
    ax, ay, az, bx, by, bz = basis(nx, ny, nz)
    place_in(model, receiver, scrambled(index, 2, key), scrambled(index, 3, key), o)
    x, y, z = sample_cosine(scrambled(index, 0, key), scrambled(index, 1, key))
    d[0], d[1], d[2] = ax * x + bx * y + nx * z, ay * x + by * y + ny * z, az * x + bz * y + nz * z
    copy(model.emitters.live[lamp], weights)
    copy(o, scratch[6])
    copy(normal, scratch[7])
    # The stream of random numbers starts beyond those of photons, which count from zero.
    number = (receiver + 1) * _PER_RECEIVER + index
    density = z / math.pi
    _path(
        model, lamp, number, seed, stream, key, index, whole, o, d, weights, scratch, seen, sent, stack, total, density
    )


@kernel
def gather_paths(
    model: Model, lamp: int, replicate: int, first: I64, count: I64, whole: BOOL, seed: int, total: F64
) -> None:
    """Add what paths find of a lamp at every receiver in one replicate; see above what that is.

    Parameters as in `gather_direct`; total is (q, b).
    """
    stream = stream_of(replicate, lamp)
    scramble = scramble_key(seed, stream, PATH)
    o, d, scratch = np.zeros(3), np.zeros(3), np.zeros((SCRATCH_ROWS, 3))
    weights, seen, sent = np.zeros(total.shape[1]), np.zeros(total.shape[1]), np.zeros(total.shape[1])
    stack = new_stack()
    for receiver in range(len(total)):
        key = mix(scramble, np.uint64(receiver))
        for index in range(first[receiver], first[receiver] + count[receiver]):
            path_at(
                model,
                lamp,
                receiver,
                index,
                key,
                whole[receiver],
                seed,
                stream,
                o,
                d,
                weights,
                scratch,
                seen,
                sent,
                stack,
                total[receiver],
            )
