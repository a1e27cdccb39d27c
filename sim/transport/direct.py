"""What receivers get straight from a lamp and by plane mirrors, by rays to points of the lamp and its images.

Light to receivers, which block nothing, is split so that nothing is counted twice:

- straight from the lamp (through screens and sheets): shadow rays to points of the lamp, and at points the paths
  below, too, which find a lamp close by better;
- by one plane mirror: shadow rays to points of the lamp's image;
- at points, by several plane mirrors and panes, or one too dim for an image: shadow rays by chains of these that are
  drawn (`sim.transport.chains`), also at matt surfaces and wires that the paths below meet, and the paths themselves;
- what met a matt surface or a wire straight from the lamp or by one such mirror: paths from the receiver back into the
  scene, which at each matt surface and wire look for the lamp both by shadow rays and by going on, weighted by the
  balance heuristic (E. Veach, L. Guibas, SIGGRAPH 1995). Without it light from a lamp that touches a wall would have
  infinite variance;
- at points, what met a rough mirror so: paths, which look for the lamp from there, too, in all directions of its lobe;
- all else, by curved mirrors: photons that cross flat receivers, which bring what rough mirrors and several plane ones
  turn, too, see `sim.transport.photons`; at points, which no photon ever hits, paths that run into the lamp.

At flat receivers others may bring the light by matt surfaces, too, where that is the better way: photons all of it, or
links (`sim.transport.links`) what came straight or by one plane mirror from the last matt surface.
"""

import math
from typing import NamedTuple

import numpy as np

from sim.transport.arrays import BOOL, F64, I64, Model, Stack
from sim.transport.between import Between, new_between, reaches
from sim.transport.chain_light import add_chains
from sim.transport.chains import OFTEN, SCRATCH_ROWS, has_chains
from sim.transport.emission import sample_point, scramble_key, stream_of
from sim.transport.jit import helper, kernel
from sim.transport.listing import list_between, set_between
from sim.transport.pieces import (
    Pieces,
    draw_piece,
    mirror_place,
    new_pieces,
    place_receiver,
    set_guide,
    set_pieces,
    weigh_pieces,
)
from sim.transport.rng import Word
from sim.transport.shadow import unshaded, unshaded_image
from sim.transport.sobol import BLOCK, mix, scrambled, scrambled_block
from sim.transport.tree_traverse import new_stack
from sim.transport.vectors import add_share, copy

DIRECT, CHAIN = 3, 9
RAREST = 8
"""A mirror that brings little light is looked at once for so many looks at the lamp, or more often."""
CHAIN_EVERY = 4
"""So many looks at the lamp there are to one chain, at least: it takes longer and most often brings less."""


@helper
def place_in(model: Model, receiver: int, u: float, v: float, x: F64) -> None:
    """Set x to a point of a receiver."""
    receivers = model.receivers
    for axis in range(3):
        x[axis] = (
            receivers.origin[receiver, axis]
            + u * receivers.edge_u[receiver, axis]
            + v * receivers.edge_v[receiver, axis]
        )


@helper
def straight_share(own: float, other: float) -> float:
    """Return the weight of one of the two estimators of straight light at a point, by their densities per steradian.

    The power heuristic leaves the lamp to shadow rays from afar, and to paths from close by, where a few points of the
    lamp make up most of the light.
    """
    return own * own / (own * own + other * other)


@helper
def weigh_ways(model: Model, lamp: int, receiver: int, place: F64, image: F64, shares: F64, seen: F64) -> None:
    """Set shares (1 + mirrors, p) of a lamp's pieces for a receiver, and seen of `look`; two (5, 3) are scratch."""
    mirrors = model.mirrors
    place_receiver(model.receivers, receiver, place)
    seen[0] = weigh_pieces(model.emitters, lamp, place, shares[0])
    for mirror in range(len(mirrors.surface)):
        mirror_place(place, mirrors.point[mirror], mirrors.normal[mirror], image)
        seen[1 + mirror] = weigh_pieces(model.emitters, lamp, image, shares[1 + mirror])


class Points(NamedTuple):
    """Scrambled points that were made together: ``rows`` (ways, 5, 16) and which ``block`` (ways,) they are, or -1."""

    rows: F64
    block: I64


@helper
def numbers(points: Points, way: int, point: int, key: Word) -> tuple[float, float, float, float, float]:
    """Return five coordinates of a scrambled point for a way."""
    rows, at = points.rows[way], point % BLOCK
    if points.block[way] != point // BLOCK:
        points.block[way] = point // BLOCK
        scrambled_block(point // BLOCK, key, rows)
    return rows[0, at], rows[1, at], rows[2, at], rows[3, at], rows[4, at]


@helper
def every(seen: F64, way: int) -> int:
    """Return how many points there are to one look by a way that brings less than straight light, a power of two."""
    stride = 1
    while way > 0 and stride < RAREST and 2.0 * stride * seen[way] <= seen[0]:
        stride *= 2
    return stride


@helper
def look(
    model: Model,
    lamp: int,
    receiver: int,
    pieces: Pieces,
    seen: F64,
    between: Between,
    points: Points,
    key: Word,
    first: int,
    count: int,
    whole: bool,
    scratch: F64,
    weights: F64,
    stack: Stack,
    total: F64,
) -> None:
    """Add what arrives straight from a lamp and by one plane mirror at one receiver in one replicate.

    `pieces` tells which of the lamp's pieces are looked at, `seen` (1 + mirrors,) whether anything of it can be seen
    straight and behind each mirror, `between` what may lie between the two; `points` is scratch.
    """
    emitters = model.emitters
    x, target, o, d = scratch[0], scratch[1], scratch[2], scratch[3]
    normal = model.receivers.normal[receiver]
    cut = emitters.piece_first[lamp] < emitters.piece_first[lamp + 1]
    for index in range(first, first + count):
        row, weight = 0, 1.0
        for way in range(len(seen)):
            if seen[way] == 0.0:
                continue
            stride = every(seen, way)
            turn = index + int(mix(key, np.uint64(way)) % np.uint64(stride))
            if turn % stride != 0:
                continue
            point = turn // stride
            # What is first in a point is spread best: which part of the lamp, then where on the receiver.
            part, u, v, u1, u2 = numbers(points, way, point, key)
            place_in(model, receiver, u, v, x)
            if cut:
                row, weight = draw_piece(emitters, lamp, pieces, way, part, u1, u2, target)
            else:
                row = sample_point(emitters, lamp, part, u1, u2, target)
            if way == 0:
                value, density, cosine, distance = unshaded(model, lamp, row, target, x, normal, d)
                if whole and value > 0.0:
                    value *= straight_share(density, cosine / math.pi)
            else:
                value, _, _, distance = unshaded_image(model, lamp, row, target, way - 1, x, normal, o, d)
            if value <= 0.0:
                continue
            copy(emitters.live[lamp], weights)
            if reaches(model, lamp, between, way, x, o, d, distance, weights, stack):
                add_share(total, value * weight * stride, weights)


@helper
def look_by_chains(
    model: Model,
    lamp: int,
    receiver: int,
    points: Points,
    way: int,
    key: Word,
    first: int,
    count: int,
    scratch: F64,
    sent: F64,
    weights: F64,
    stack: Stack,
    total: F64,
) -> None:
    """Add what arrives at one receiver in one replicate by several plane mirrors or panes, or by one without an image.

    `key` is that of `look`, `way` a row of `points` that no other look takes; these are scratch.
    """
    own, every = mix(key, np.uint64(CHAIN)), round(CHAIN_EVERY / float(model.mirrors.chain[lamp, 0, OFTEN]))
    for index in range(first, first + count):
        if (index + int(own)) % every != 0:
            continue
        point = index // every
        part, u, v, u1, u2 = numbers(points, way, point, own)
        place_in(model, receiver, u, v, scratch[0])
        copy(model.receivers.normal[receiver], scratch[1])
        for band in range(len(sent)):
            sent[band] = every * model.emitters.live[lamp, band]
        four, word = (part, u1, u2, scrambled(point, 5, own)), mix(mix(own, np.uint64(CHAIN)), np.uint64(point))
        add_chains(model, lamp, four, word, sent, scratch, weights, stack, total, 1.0, 1.0, 1.0)


@kernel
def gather_direct(
    model: Model,
    lamp: int,
    start: int,
    end: int,
    first: I64,
    count: I64,
    whole: BOOL,
    seed: int,
    total: F64,
) -> None:
    """Add what arrives straight from a lamp and by one plane mirror at some receivers, in every replicate.

    Parameters
    ----------
    start, end : int
        The receivers ``start … end - 1``.
    first, count : (q,) int
        First point of the lamp and how many, for each receiver.
    whole : (q,) bool
        Which receivers paths bring all other light, see `gather_paths`; those share straight light with them.
    total : (r, q, b) float
        Sums over points of irradiance per watt [m-2], by replicate.
    """
    cut = model.emitters.piece_first[lamp + 1] > model.emitters.piece_first[lamp]
    ways = 1 + len(model.mirrors.surface)
    pieces = new_pieces(model.emitters.piece_first[lamp + 1] - model.emitters.piece_first[lamp], ways)
    set_pieces(model.emitters, lamp, pieces)
    points = Points(np.zeros((ways + 1, 5, BLOCK)), np.zeros(ways + 1, dtype=np.int64))
    seen = np.ones(ways)
    place, image, scratch = np.zeros((5, 3)), np.zeros((5, 3)), np.zeros((SCRATCH_ROWS, 3))
    weights, sent = np.zeros(total.shape[2]), np.zeros(total.shape[2])
    stack = new_stack()
    between = new_between(model.tree, len(model.mirrors.surface), len(model.surfaces.law))
    set_between(model, lamp, between)
    for receiver in range(start, end):
        if count[receiver] == 0:
            continue
        if cut:
            weigh_ways(model, lamp, receiver, place, image, pieces.shares, seen)
            set_guide(pieces)
        list_between(model, lamp, receiver, seen, between)
        for replicate in range(len(total)):
            stream = stream_of(replicate, lamp)
            key = mix(scramble_key(seed, stream, DIRECT), np.uint64(receiver))
            for way in range(ways + 1):
                points.block[way] = -1
            begin, many, all_light, to = first[receiver], count[receiver], whole[receiver], total[replicate, receiver]
            look(
                model,
                lamp,
                receiver,
                pieces,
                seen,
                between,
                points,
                key,
                begin,
                many,
                all_light,
                scratch,
                weights,
                stack,
                to,
            )
            if all_light and has_chains(model):
                look_by_chains(model, lamp, receiver, points, ways, key, begin, many, scratch, sent, weights, stack, to)
