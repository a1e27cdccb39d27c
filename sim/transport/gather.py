"""Irradiance at free-standing receivers, which block nothing: from the lamp, by plane mirrors, and by paths back.

Light is split by the last thing it met before the receiver, so that nothing is counted twice:

- straight from the lamp (through screens and sheets): shadow rays to points of the lamp, and at points the paths
  below, too, which find a lamp close by better;
- by one plane mirror: shadow rays to points of the lamp's image;
- all else at flat receivers: photons that cross them, see `sim.transport.photons`;
- all else at points, which no photon ever hits: paths from the receiver back into the scene, which at each matt
  surface and wire look for the lamp both by a shadow ray and by going on, the two weighted by the balance heuristic
  (E. Veach, L. Guibas, SIGGRAPH 1995). Without it light from a lamp that touches a wall would have infinite variance.
"""

import math

import numpy as np

from sim.transport.arrays import BOOL, F64, I64, Model, Stack
from sim.transport.emission import leaving, sample_point, scramble_key, stream_of
from sim.transport.jit import helper, kernel, routine
from sim.transport.parts import ABSORBED, AGAIN, DIFFUSE, LOBE, MIRROR, ONCE, STRAIGHT
from sim.transport.pieces import mirror_place, place_receiver, sample_piece, weigh_pieces
from sim.transport.rng import Word, uniforms
from sim.transport.sampling import basis, sample_cosine
from sim.transport.scatter import scatter
from sim.transport.shadow import aim, from_image, from_lamp
from sim.transport.sobol import mix, scrambled
from sim.transport.tree_traverse import MISS, new_stack, next_hit
from sim.transport.vectors import copy
from sim.transport.wires import wires_density

DIRECT = 3
PATH = 4
LIGHT = 5
BOUNCE_LIMIT = 100_000
_PER_RECEIVER = 1 << 32


@helper
def _place(model: Model, receiver: int, u: float, v: float, x: F64) -> None:
    """Set x to a point of a receiver."""
    receivers = model.receivers
    for axis in range(3):
        x[axis] = (
            receivers.origin[receiver, axis]
            + u * receivers.edge_u[receiver, axis]
            + v * receivers.edge_v[receiver, axis]
        )


@helper
def _add(total: F64, value: float, weights: F64) -> None:
    if value > 0.0:
        for band in range(len(weights)):
            total[band] += value * weights[band]


@helper
def _straight_share(own: float, other: float) -> float:
    """Return the weight of one of the two estimators of straight light at a point, by their densities per steradian.

    The power heuristic leaves the lamp to shadow rays from afar, and to paths from close by, where a few points of the
    lamp make up most of the light.
    """
    return own * own / (own * own + other * other)


@routine
def _look(
    model: Model,
    lamp: int,
    receiver: int,
    shares: F64,
    seen: F64,
    key: Word,
    first: int,
    count: int,
    by_path: bool,
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
        _place(model, receiver, scrambled(index, 3, key), scrambled(index, 4, key), x)
        u0, u1, u2 = scrambled(index, 0, key), scrambled(index, 1, key), scrambled(index, 2, key)
        weight, row = 1.0, 0
        for way in range(len(seen)):
            if seen[way] == 0.0:
                continue
            if cut:
                row, weight = sample_piece(emitters, lamp, shares[way], u0, u1, u2, target)
            elif way == 0 or seen[0] == 0.0:
                row = sample_point(emitters, lamp, u0, u1, u2, target)
            copy(emitters.live[lamp], weights)
            if way == 0:
                value, density = from_lamp(model, lamp, row, target, x, normal, o, d, weights, stack)
                if by_path and value > 0.0:
                    cosine = d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2]
                    value *= _straight_share(density, cosine / math.pi)
            else:
                value = from_image(model, lamp, row, target, way - 1, x, normal, o, d, weights, stack)
            _add(total, value * weight, weights)


@kernel
def gather_direct(
    model: Model,
    lamp: int,
    start: int,
    end: int,
    first: I64,
    count: I64,
    by_path: BOOL,
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
    by_path : (q,) bool
        Which receivers get paths besides, see `gather_paths`; those share straight light with them.
    total : (r, q, b) float
        Sums over points of irradiance per watt [m-2], by replicate.
    """
    mirrors, pieces = model.mirrors, model.emitters.piece_first[lamp + 1] - model.emitters.piece_first[lamp]
    ways = 1 + len(mirrors.surface)
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
            place_receiver(model.receivers, receiver, place)
            seen[0] = weigh_pieces(model.emitters, lamp, place, shares[0])
            for mirror in range(ways - 1):
                mirror_place(place, mirrors.point[mirror], mirrors.normal[mirror], image)
                seen[1 + mirror] = weigh_pieces(model.emitters, lamp, image, shares[1 + mirror])
        for replicate in range(len(total)):
            stream = stream_of(replicate, lamp)
            key = mix(scramble_key(seed, stream, DIRECT), np.uint64(receiver))
            _look(
                model,
                lamp,
                receiver,
                shares,
                seen,
                key,
                first[receiver],
                count[receiver],
                by_path[receiver],
                scratch,
                weights,
                stack,
                total[replicate, receiver],
            )


@helper
def _lamp_share(
    model: Model,
    lamp: int,
    d: F64,
    normal: F64,
    o: F64,
    vertex: F64,
    turns: int,
    matt: int,
    by_image: bool,
    density: float,
) -> float:
    """Return the weight of a path that runs into its lamp's emissive front: what other estimators leave to it.

    `turns` mirror-like reflections since the last matt surface at `vertex` (or the receiver), `matt` matt surfaces so
    far, `by_image` that the only turn was at a mirror which images take care of, `density` that of d at the vertex.
    """
    if turns > 0:
        return 0.0 if matt == 0 and turns == 1 and by_image else 1.0
    distance2 = (o[0] - vertex[0]) ** 2 + (o[1] - vertex[1]) ** 2 + (o[2] - vertex[2]) ** 2
    cos_lamp = -(d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2])
    by_light = distance2 / (cos_lamp * model.emitters.area[lamp])
    return _straight_share(density, by_light) if matt == 0 else density / (density + by_light)


@routine
def _off_wires(model: Model, part: int, triangle: int, arrival: F64, d: F64) -> float:
    """Return the density per steradian at d of a path that met a screen along `arrival`."""
    surfaces = model.surfaces
    normal = surfaces.normal[triangle]
    along = arrival[0] * normal[0] + arrival[1] * normal[1] + arrival[2] * normal[2]
    law = surfaces.law[surfaces.of_triangle[triangle], 0 if along < 0.0 else 1]
    return wires_density(surfaces, model.laws, law, triangle, part, arrival, d)


@routine
def _light_at(
    model: Model,
    lamp: int,
    part: int,
    triangle: int,
    index: int,
    bounce: int,
    seed: int,
    stream: int,
    weights: F64,
    scratch: F64,
    seen: F64,
    stack: Stack,
    total: F64,
) -> None:
    """Add what a matt surface or a wire sends back of the lamp's straight light, by the balance heuristic.

    `scratch` holds the place; a matt surface's normal on the side of departure (a wire has none and sends light all
    around: scratch there); three rows of scratch; the direction of the path before the place.
    """
    x, normal, target, o, d, arrival = scratch[0], scratch[1], scratch[2], scratch[3], scratch[4], scratch[5]
    u0, u1, u2, _ = uniforms(index, bounce, LIGHT, seed, stream)
    row = sample_point(model.emitters, lamp, u0, u1, u2, target)
    copy(weights, seen)
    off_wires = part in (ONCE, AGAIN)
    if off_wires:
        aim(x, target, normal)
    value, density = from_lamp(model, lamp, row, target, x, normal, o, d, seen, stack)
    if value <= 0.0:
        return
    by_path = (d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2]) / math.pi
    if off_wires:
        # The cosine law is in the value already, as it is for surfaces; here it was that of a normal along d.
        by_path = _off_wires(model, part, triangle, arrival, d)
        value *= math.pi * by_path
    value *= density / (density + by_path)
    for band in range(len(seen)):
        total[band] += value * seen[band]


@helper
def _path(
    model: Model,
    lamp: int,
    index: int,
    seed: int,
    stream: int,
    o: F64,
    d: F64,
    weights: F64,
    scratch: F64,
    seen: F64,
    stack: Stack,
    total: F64,
    density: float,
) -> None:
    """Follow one path back from a receiver at o towards d and add what it finds of a lamp, per watt [m-2].

    `density` is that of d at the receiver, per steradian.
    """
    surfaces, emitters = model.surfaces, model.emitters
    vertex, side, arrival = scratch[0], scratch[1], scratch[5]
    turns, matt, by_image, triangle = 0, 0, False, MISS
    copy(o, vertex)
    for bounce in range(1, BOUNCE_LIMIT):
        t, triangle = next_hit(model.tree, o, d, np.inf, stack, triangle)
        if triangle == MISS:
            return
        for axis in range(3):
            o[axis] += t * d[axis]
        normal = surfaces.normal[triangle]
        along = d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2]
        if surfaces.emitter[triangle] == lamp and along < 0.0:
            share = _lamp_share(model, lamp, d, normal, o, vertex, turns, matt, by_image, density) / emitters.area[lamp]
            # By Lambert's law a lamp is as bright from everywhere, and this factor is one.
            share *= leaving(emitters, lamp, -along, -d[0], -d[1], -d[2]) / -along
            for band in range(len(weights)):
                total[band] += share * weights[band]
        copy(d, arrival)
        part = scatter(surfaces, model.laws, triangle, lamp, d, weights, index, bounce, seed, stream)
        if part == ABSORBED:
            return
        if part in (MIRROR, LOBE):
            by_image = part == MIRROR and surfaces.mirror[surfaces.of_triangle[triangle]] == 1
            turns += 1
        elif part != STRAIGHT:
            out = 1.0 if (along < 0.0) == (part == DIFFUSE) else -1.0
            for axis in range(3):
                side[axis] = out * normal[axis]
            copy(o, vertex)
            density = (d[0] * side[0] + d[1] * side[1] + d[2] * side[2]) / math.pi
            if part in (ONCE, AGAIN):
                density = _off_wires(model, part, triangle, arrival, d)
            turns = 0
            matt += 1
            _light_at(model, lamp, part, triangle, index, bounce, seed, stream, weights, scratch, seen, stack, total)


@kernel
def gather_paths(model: Model, lamp: int, replicate: int, first: I64, count: I64, seed: int, total: F64) -> None:
    """Add what arrives from a lamp by any other way at every receiver, and the paths' share of its straight light.

    Parameters as in `gather_direct`.
    """
    stream = stream_of(replicate, lamp)
    scramble = scramble_key(seed, stream, PATH)
    o, d, scratch = np.zeros(3), np.zeros(3), np.zeros((6, 3))
    weights, seen = np.zeros(total.shape[1]), np.zeros(total.shape[1])
    stack = new_stack()
    for receiver in range(len(total)):
        key = mix(scramble, np.uint64(receiver))
        normal = model.receivers.normal[receiver]
        nx, ny, nz = normal[0], normal[1], normal[2]
        ax, ay, az, bx, by, bz = basis(nx, ny, nz)
        # The stream of random numbers starts beyond those of photons, which count from zero.
        offset = (receiver + 1) * _PER_RECEIVER
        for index in range(first[receiver], first[receiver] + count[receiver]):
            _place(model, receiver, scrambled(index, 2, key), scrambled(index, 3, key), o)
            x, y, z = sample_cosine(scrambled(index, 0, key), scrambled(index, 1, key))
            d[0], d[1], d[2] = ax * x + bx * y + nx * z, ay * x + by * y + ny * z, az * x + bz * y + nz * z
            copy(model.emitters.live[lamp], weights)
            _path(
                model,
                lamp,
                offset + index,
                seed,
                stream,
                o,
                d,
                weights,
                scratch,
                seen,
                stack,
                total[receiver],
                z / math.pi,
            )
