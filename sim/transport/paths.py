"""Paths from receivers back into the scene; `sim.transport.direct` tells which light is theirs."""

import math

import numpy as np

from sim.transport.arrays import BOOL, F64, I64, Emitters, Model, Stack
from sim.transport.chains import NOWHERE, SCRATCH_ROWS, has_chains, looks, seldom, turn_on
from sim.transport.direct import place_in, straight_share
from sim.transport.emission import leaving, scramble_key, stream_of
from sim.transport.going_on import go_on, send_to_opening, stand_to_look, stay_or_end, turned
from sim.transport.jit import helper, kernel, variable
from sim.transport.lamp_tree import behind_mirror, lamp_often
from sim.transport.lit_surface import choose_side, look_for_lamp
from sim.transport.openings import first_density, first_direction
from sim.transport.parts import ABSORBED, DIFFUSE, FACETS, LOBE, MIRROR, STRAIGHT
from sim.transport.rng import Word, uniforms
from sim.transport.sobol import mix, scrambled
from sim.transport.tree_traverse import MISS, new_stack, next_hit
from sim.transport.triangles import face_of, lamp_of, surface_of
from sim.transport.vectors import add_share, along_normal, copy

PATH = 4
LIGHT = 5
SIDE = 6
BOUNCE_LIMIT = 100_000
_PER_RECEIVER = 1 << 32


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
def _chance_drawn(model: Model, lamp: int, side: int, turns: int, matt: int, chance: float) -> float:
    """Return how likely a path's chain is drawn and the lamp looked for at its end; 0 where it cannot be drawn."""
    if side == NOWHERE:
        return 0.0
    return chance * looks(turns) * (seldom(model.mirrors.chain[lamp]) if matt > 0 else 1.0)


@helper
def _run_into_lamp(
    model: Model,
    lamp: int,
    triangle: int,
    met: tuple[float, float, float, float],
    way: tuple[int, int, bool, bool, float, float],
    o: F64,
    d: F64,
    weights: F64,
    scratch: F64,
    total: F64,
) -> None:
    """Add what a path brings of its lamp, into the front of which it ran at o along d.

    `met` tells the component of d along the front's normal, and `travelled`, `density` and the chance that the lamp
    was looked for as in `_lamp_share`, `way` is as there.
    """
    along, travelled, density, often = met
    _, matt, _, _, drawn, _ = way
    if matt > 0 or drawn > 0.0:
        often *= lamp_often(model.emitters, lamp, scratch[6], scratch[7], face_of(model.surfaces, triangle), o)
    share = _lamp_share(model, lamp, -along, travelled, way, density, often)
    add_share(total, share * _brightness(model.emitters, lamp, along, d), weights)


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
    surfaces, chained = model.surfaces, whole and has_chains(model)
    turns, matt, by_image, triangle, travelled, looked = variable(0), variable(0), False, variable(MISS), 0.0, 1.0
    side, corners, chance, luck, word = variable(NOWHERE), variable(0), 0.0, 0.0, mix(key, np.uint64(point))
    for bounce in range(1, BOUNCE_LIMIT):
        t, triangle = next_hit(model.tree, o, d, np.inf, stack, triangle)
        if triangle == MISS:
            return
        travelled += t
        _move(o, d, t)
        normal = surfaces.normal[triangle]
        along, own, draw = along_normal(d, normal), mix(word, np.uint64(bounce)), (index, bounce, seed, stream)
        if along < 0.0 and lamp_of(surfaces, triangle) == lamp:
            met, drawn = (along, travelled, density, looked), _chance_drawn(model, lamp, side, turns, matt, chance)
            way = turns, matt, by_image, whole, drawn, luck
            _run_into_lamp(model, lamp, triangle, met, way, o, d, weights, scratch, total)
        points, which = _lamp_points(index, bounce, seed, stream, point, key, matt == 0)
        chances, see, to = choose_side(model, lamp, triangle, along, which, o, weights, sent, scratch)
        staying = stay_or_end(model, lamp, triangle, along, whole, weights)
        part = turned(model, lamp, triangle, d, weights, draw, scratch)
        place, rough = stand_to_look(
            model, lamp, triangle, part, whole, chances, which, own, along, o, weights, sent, scratch
        )
        if see > 0.0 or place != DIFFUSE:
            odds = see if see > 0.0 else 1.0, to, rough
            ways = staying[1] if which < chances[2] else 0.0, chained
            look_for_lamp(
                model, lamp, place, triangle, points, ways, own, weights, sent, scratch, seen, stack, total, odds
            )
        part = send_to_opening(model, lamp, triangle, along, part, staying, draw, o, d, weights, scratch)
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
            density, looked = go_on(model, lamp, part, triangle, chances, staying, rough, o, d, weights, scratch)
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
    place_in(model, receiver, scrambled(index, 2, key), scrambled(index, 3, key), o)
    u, v = scrambled(index, 0, key), scrambled(index, 1, key)
    copy(model.emitters.live[lamp], weights)
    cosine = first_direction(model.emitters, lamp, whole, o, normal, u, v, d)
    if cosine <= 0.0:
        return
    density = first_density(model.emitters, lamp, whole, o, normal, d, cosine)
    if density != cosine / math.pi:
        for band in range(len(weights)):
            weights[band] *= cosine / math.pi / density
    copy(o, scratch[6])
    copy(normal, scratch[7])
    # The stream of random numbers starts beyond those of photons, which count from zero.
    number = (receiver + 1) * _PER_RECEIVER + index
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
