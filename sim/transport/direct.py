"""What receivers get straight from a lamp and by one plane mirror, by rays to points of the lamp and its images.

Light to receivers, which block nothing, is split so that nothing is counted twice:

- straight from the lamp (through screens and sheets): shadow rays to points of the lamp, and at points the paths
  below, too, which find a lamp close by better;
- by one plane mirror: shadow rays to points of the lamp's image;
- what met a matt surface or a wire straight from the lamp or by one such mirror: paths from the receiver back into the
  scene, which at each matt surface and wire look for the lamp both by shadow rays and by going on, weighted by the
  balance heuristic (E. Veach, L. Guibas, SIGGRAPH 1995). Without it light from a lamp that touches a wall would have
  infinite variance;
- all else, by curved or rough mirrors: photons that cross flat receivers, see `sim.transport.photons`; at points,
  which no photon ever hits, paths that run into the lamp.

At flat receivers others may bring the light by matt surfaces, too, where that is the better way: photons all of it, or
links (`sim.transport.links`) what came straight or by one plane mirror from the last matt surface.
"""

import math

import numpy as np

from sim.transport.arrays import BOOL, F64, I64, Model, Stack
from sim.transport.emission import sample_point, scramble_key, stream_of
from sim.transport.jit import helper, kernel
from sim.transport.pieces import mirror_place, place_receiver, sample_piece, weigh_pieces
from sim.transport.rng import Word
from sim.transport.shadow import from_image, from_lamp
from sim.transport.sobol import mix, scrambled
from sim.transport.tree_traverse import new_stack
from sim.transport.vectors import add_share, copy

DIRECT = 3
RAREST = 8
"""A mirror that brings little light is looked at once for so many looks at the lamp, or more often."""


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
    """Set shares and seen of `look` for a receiver and a lamp that has pieces; place and image (5, 3) are scratch."""
    mirrors = model.mirrors
    place_receiver(model.receivers, receiver, place)
    seen[0] = weigh_pieces(model.emitters, lamp, place, shares[0])
    for mirror in range(len(mirrors.surface)):
        mirror_place(place, mirrors.point[mirror], mirrors.normal[mirror], image)
        seen[1 + mirror] = weigh_pieces(model.emitters, lamp, image, shares[1 + mirror])


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
    shares: F64,
    seen: F64,
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

    `shares` (1 + mirrors, pieces) are cumulated shares of the lamp's pieces, straight and behind each mirror; `seen`
    (1 + mirrors,) whether anything of the lamp can be seen that way.
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
            place_in(model, receiver, scrambled(point, 1, key), scrambled(point, 2, key), x)
            u0, u1, u2 = scrambled(point, 0, key), scrambled(point, 3, key), scrambled(point, 4, key)
            if cut:
                row, weight = sample_piece(emitters, lamp, shares[way], u0, u1, u2, target)
            else:
                row = sample_point(emitters, lamp, u0, u1, u2, target)
            copy(emitters.live[lamp], weights)
            if way == 0:
                value, density, cosine = from_lamp(model, lamp, row, target, x, normal, o, d, weights, stack)
                if whole and value > 0.0:
                    value *= straight_share(density, cosine / math.pi)
            else:
                value, density, cosine = from_image(model, lamp, row, target, way - 1, x, normal, o, d, weights, stack)
            add_share(total, value * weight * stride, weights)


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
    pieces = model.emitters.piece_first[lamp + 1] - model.emitters.piece_first[lamp]
    ways = 1 + len(model.mirrors.surface)
    shares = np.zeros((ways, max(1, pieces)))
    seen = np.ones(ways)
    cut = pieces > 0
    place, image, scratch = np.zeros((5, 3)), np.zeros((5, 3)), np.zeros((4, 3))
    weights = np.zeros(total.shape[2])
    stack = new_stack()
    for receiver in range(start, end):
        if count[receiver] == 0:
            continue
        if cut:
            weigh_ways(model, lamp, receiver, place, image, shares, seen)
        for replicate in range(len(total)):
            stream = stream_of(replicate, lamp)
            key = mix(scramble_key(seed, stream, DIRECT), np.uint64(receiver))
            look(
                model,
                lamp,
                receiver,
                shares,
                seen,
                key,
                first[receiver],
                count[receiver],
                whole[receiver],
                scratch,
                weights,
                stack,
                total[replicate, receiver],
            )
