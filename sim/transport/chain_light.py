"""What arrives at a place by a chain of plane mirrors and panes, see `sim.transport.chains`."""

import math
from typing import NamedTuple

from sim.transport.arrays import F64, Model, Stack
from sim.transport.chains import (
    FACING,
    PLACE,
    RETURNS,
    SURFACE,
    TURNS,
    begin_chain,
    chain_numbers,
    height_over,
    looks,
    next_turn,
    shows_lamp,
    slope_to,
    turn_vector,
)
from sim.transport.emission import leaving
from sim.transport.jit import helper, routine, variable
from sim.transport.lamp_tree import sample_lamp
from sim.transport.openings import first_density
from sim.transport.rng import Word
from sim.transport.shadow import aim, clear, reflect, to_surface
from sim.transport.vectors import add_share, copy


@helper
def follow(
    model: Model, lamp: int, turns: int, distance: float, o: F64, d: F64, weights: F64, scratch: F64, stack: Stack
) -> bool:
    """Return whether light gets from o along d by a chain to a point whose image lies at a distance [m]."""
    table = model.mirrors.chain[lamp]
    for turn in range(turns):
        side = int(scratch[TURNS + turn // 3, turn % 3])
        height, slope = height_over(table, side, o), slope_to(table, side, d)
        if height <= 0.0 or height + slope * distance >= 0.0:
            return False
        leg = -height / slope
        triangle = to_surface(model, lamp, int(table[side, SURFACE]), o, d, leg, weights, stack)
        if triangle < 0:
            return False
        reflect(model, lamp, triangle, d, weights)
        distance -= leg
    return clear(model, lamp, o, d, distance, weights, stack)


@routine
def at_turn(
    model: Model,
    lamp: int,
    turns: int,
    points: tuple[float, float, float],
    scratch: F64,
    weights: F64,
    stack: Stack,
) -> tuple[float, float, float]:
    """Return what arrives at a place by a chain from a point of the lamp, over the chance of the chain.

    Parameters
    ----------
    turns : int
        Of the chain in scratch.
    points : (float, float, float)
        Uniform numbers for a point of the lamp.
    scratch : (SCRATCH_ROWS, 3) float
        The place and its normal, or zeros if it has none; then rows of scratch, the first of which is left as the
        direction of arrival.
    weights : (b,) float
        Take what lies between.

    Returns
    -------
    irradiance : float
        The mean over points is irradiance per watt [m-2]; without a normal, as if it faced the light.
    density : float
        Of the point that was drawn, per steradian at the place.
    cosine : float
        Of the direction of arrival with the normal.
    """
    table, emitters = model.mirrors.chain[lamp], model.emitters
    x, normal, target, o, d, place = scratch[0], scratch[1], scratch[2], scratch[3], scratch[4], scratch[PLACE]
    row, often = sample_lamp(emitters, lamp, place, scratch[FACING], points[0], points[1], points[2], target)
    if row < 0:
        return 0.0, 0.0, 0.0
    distance = aim(place, target, d)
    cos_lamp = -(d[0] * emitters.normal[row, 0] + d[1] * emitters.normal[row, 1] + d[2] * emitters.normal[row, 2])
    if cos_lamp <= 0.0:
        return 0.0, 0.0, 0.0
    sent = leaving(emitters, lamp, cos_lamp, -d[0], -d[1], -d[2])
    for turn in range(turns - 1, -1, -1):
        turn_vector(table, int(scratch[TURNS + turn // 3, turn % 3]), d)
    cosine = d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2]
    if normal[0] == 0.0 and normal[1] == 0.0 and normal[2] == 0.0:
        cosine = 1.0
    if cosine <= 0.0 or sent <= 0.0:
        return 0.0, 0.0, 0.0
    copy(x, o)
    copy(d, target)
    if not follow(model, lamp, turns, distance, o, d, weights, scratch, stack):
        return 0.0, 0.0, 0.0
    square = distance * distance
    return cosine * sent / (math.pi * square * often), square / (cos_lamp * emitters.area[lamp]) * often, cosine


class Drawn(NamedTuple):
    """A chain as far as it is drawn: its turns, corners of the last one's window, the chance, the share it turns on."""

    turns: int
    corners: int
    chance: float
    luck: float


@routine
def next_light(
    model: Model,
    lamp: int,
    chain: Drawn,
    points: tuple[float, float, float, float],
    word: Word,
    sent: F64,
    scratch: F64,
    seen: F64,
    stack: Stack,
) -> tuple[Drawn, float, float, float]:
    """Draw on to the next turn by which light comes; return the chain, without corners where it ends, and the light.

    That is told as by `at_turn`; `seen` is set to what is left of `sent`. Parameters as in `add_chains`.
    """
    table, (turns, count, chance, luck) = model.mirrors.chain[lamp], chain
    value, density, cosine = 0.0, 0.0, 0.0
    while not value > 0.0:
        u, look = chain_numbers(word, turns, points[3])
        count, chance = next_turn(table, turns, count, chance, u, scratch)
        if count == 0:
            break
        luck *= table[int(scratch[TURNS + turns // 3, turns % 3]), RETURNS]
        turns += 1
        if shows_lamp(table, turns, count, look, scratch):
            copy(sent, seen)
            value, density, cosine = at_turn(
                model, lamp, turns, (points[0], points[1], points[2]), scratch, seen, stack
            )
    return Drawn(turns, count, chance, luck), value, density, cosine


@routine
def add_chains(
    model: Model,
    lamp: int,
    points: tuple[float, float, float, float],
    word: Word,
    sent: F64,
    scratch: F64,
    seen: F64,
    stack: Stack,
    total: F64,
) -> None:
    """Add what a chain brings to a receiver to which paths bring all other light.

    Parameters
    ----------
    points : (float, float, float, float)
        Uniform numbers: three for points of the lamp, one for the chain's first side.
    word : uint64
        A hash for the rest of the chain.
    sent : (b,) float
        What is told of the light that arrives.
    scratch : (SCRATCH_ROWS, 3) float
        The place, its normal and rows of scratch.
    """
    if not begin_chain(scratch, word, 1.0):
        return
    chain = Drawn(variable(0), variable(0), 1.0, 1.0)
    while True:
        chain, value, density, cosine = next_light(model, lamp, chain, points, word, sent, scratch, seen, stack)
        if chain.corners == 0:
            return
        by_path = first_density(model.emitters, lamp, True, scratch[0], scratch[1], scratch[2], cosine)
        share = density / (density * chain.chance * looks(chain.turns) + chain.luck * by_path)
        add_share(total, value * share, seen)
