"""Links between receivers and places of matt surfaces that photons lit: light that was scattered on the way.

A few photons of each replicate are followed apart from those that are counted. Wherever a matt surface sends one on,
that place shines on the receivers with the photon's power (virtual point lights). A receiver looks at some of these
places, straight and in plane mirrors: of a run of candidates it picks one by what each would bring were nothing in
between, and one ray tells whether something is. So a receiver gets much of its light by few rays, however close to the
lamp the lit places are and by whatever mirrors the light came to them.

Links that are short would vary without bound. So a link counts as if it were no stronger than `MOST`, and what that
leaves of a short one is brought by the photons that are counted, see `sim.transport.photons`.

References
----------
A. Keller, "Instant radiosity", SIGGRAPH 1997. T. Kollig, A. Keller, "Illumination in the presence of weak
singularities", MCQMC 2004 (the bound, and what makes up for it). J. Talbot, D. Cline, P. Egbert, "Importance resampling
for global illumination", EGSR 2005.
"""

import math

import numpy as np

from sim.transport.arrays import F64, I64, Model, Stack
from sim.transport.direct import place_in
from sim.transport.emission import emit, scramble_key, stream_of
from sim.transport.jit import helper, kernel, variable
from sim.transport.lamp_tree import behind_mirror
from sim.transport.parts import ABSORBED
from sim.transport.photons import BOUNCE_LIMIT, MOST
from sim.transport.rng import Word
from sim.transport.scatter import scatter
from sim.transport.shadow import aim, clear, reflect_point, through_mirror
from sim.transport.sobol import mix, scrambled
from sim.transport.tree_traverse import MISS, new_stack, next_hit
from sim.transport.triangles import surface_of
from sim.transport.vectors import add_share, copy

LIT, LINK = 7, 8
BATCH = 64
"""Photons whose lit places are looked at together."""
CANDIDATES = 64
ON_PLANE = 1e-9
"""What is nearer to a mirror's plane than this [m] lies on it."""
PLACE, NORMAL, SUM, POWER = 0, 3, 6, 7
"""Rows of the table of lit places: where, the normal of the side that shines, what it sends back of the photon's weight
in all bands together, and in each."""
_NUMBERS = 1 << 62
"""Random numbers of these photons start beyond those of other photons and of paths."""
_ROOM = 4 * BATCH


@helper
def _light_up(
    model: Model, lamp: int, triangle: int, side: int, o: F64, d: F64, weights: F64, lit: F64, found: int
) -> int:
    """Write down what the side of arrival (0) or the far one (1) of a matt surface sends back of a photon, if any.

    Returns how many places there are with it, for which there need not be room.
    """
    surfaces, laws = model.surfaces, model.laws
    normal = surfaces.normal[triangle]
    front = d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2] < 0.0
    law = surfaces.law[surface_of(surfaces, triangle), 0 if front else 1]
    power = 0.0
    for band in range(len(weights)):
        power += weights[band] * laws.diffuse[law, lamp, band, side]
    if power <= 0.0 or laws.fill[law, 0] >= 0.0:
        return found
    if found + CANDIDATES < lit.shape[1]:
        sign = 1.0 if front == (side == 0) else -1.0
        for axis in range(3):
            lit[PLACE + axis, found], lit[NORMAL + axis, found] = o[axis], sign * normal[axis]
        lit[SUM, found] = power
        for band in range(len(weights)):
            lit[POWER + band, found] = weights[band] * laws.diffuse[law, lamp, band, side]
    return found + 1


@helper
def _follow(
    model: Model,
    lamp: int,
    index: int,
    seed: int,
    stream: int,
    key: Word,
    o: F64,
    d: F64,
    weights: F64,
    stack: Stack,
    lit: F64,
    found: int,
) -> int:
    """Follow a photon, write down the places that it lights as far as there is room; return how many there are."""
    surfaces, number = model.surfaces, _NUMBERS + index
    triangle = emit(model.emitters, lamp, index, key, o, d)
    copy(model.emitters.live[lamp], weights)
    for bounce in range(BOUNCE_LIMIT):
        t, triangle = next_hit(model.tree, o, d, np.inf, stack, triangle)
        if triangle == MISS:
            return found
        for axis in range(3):
            o[axis] += t * d[axis]
        for side in range(2):
            found = _light_up(model, lamp, triangle, side, o, d, weights, lit, found)
        part = scatter(surfaces, model.laws, triangle, lamp, d, weights, number, bounce, seed, stream)
        if part == ABSORBED:
            return found
    return found


@helper
def _weigh(model: Model, way: int, lit: F64, first: int, count: int, x: F64, normal: F64, worth: F64) -> None:
    """Set worth to what some lit places would bring to x were nothing in between: power times strength [m-2].

    By way 0 they do so straight, by others in a plane mirror: x and its normal are then those of its image. The loop is
    done with several places at once, since all that it reads or writes follows each other.
    """
    mirrors, side = model.mirrors, 0.0
    mx, my, mz, reach, least = 0.0, 0.0, 0.0, 0.0, 0.0
    if way > 0:
        mx, my, mz = mirrors.normal[way - 1, 0], mirrors.normal[way - 1, 1], mirrors.normal[way - 1, 2]
        reach = mirrors.point[way - 1, 0] * mx + mirrors.point[way - 1, 1] * my + mirrors.point[way - 1, 2] * mz
        side = reach - (x[0] * mx + x[1] * my + x[2] * mz)
        # A mirror's matt back shines on nothing before the mirror, though rounding may put it there.
        least = max(ON_PLANE * abs(side), ON_PLANE * ON_PLANE)
    end = first + count
    places_x, places_y, places_z = lit[PLACE, first:end], lit[PLACE + 1, first:end], lit[PLACE + 2, first:end]
    normals_x, normals_y, normals_z = lit[NORMAL, first:end], lit[NORMAL + 1, first:end], lit[NORMAL + 2, first:end]
    power = lit[SUM, first:end]
    ox, oy, oz, nx, ny, nz = x[0], x[1], x[2], normal[0], normal[1], normal[2]
    for step in range(count):
        px, py, pz = places_x[step], places_y[step], places_z[step]
        gx, gy, gz = px - ox, py - oy, pz - oz
        here = gx * nx + gy * ny + gz * nz
        there = gx * normals_x[step] + gy * normals_y[step] + gz * normals_z[step]
        d2 = gx * gx + gy * gy + gz * gz
        # An image lies behind the mirror, and what it shows before.
        before = (px * mx + py * my + pz * mz - reach) * side >= least
        link = min(MOST, -here * there / (d2 * d2)) * power[step]
        worth[step] = link if (here > 0.0) & (there < 0.0) & before else 0.0


@helper
def _eight_sums(worth: F64, count: int) -> tuple[float, float, float, float, float, float, float, float]:
    """Return the sums of all that stand at places of the same remainder by eight, each with those of the ones before.

    No sum waits for the one before, and all are done at once. Behind the last, up to a multiple of eight, stand zeros.
    """
    a, b, c, d, e, f, g, h = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for step in range(np.uint64(0), np.uint64(count), np.uint64(8)):
        a, b = a + worth[step], b + worth[step + np.uint64(1)]
        c, d = c + worth[step + np.uint64(2)], d + worth[step + np.uint64(3)]
        e, f = e + worth[step + np.uint64(4)], f + worth[step + np.uint64(5)]
        g, h = g + worth[step + np.uint64(6)], h + worth[step + np.uint64(7)]
    return (
        a,
        a + b,
        a + b + c,
        a + b + c + d,
        a + b + c + d + e,
        a + b + c + d + e + f,
        a + b + c + d + e + f + g,
        (a + b + c + d + e + f + g + h),
    )


@helper
def _pick(worth: F64, count: int, u: float) -> tuple[int, float]:
    """Return one of a count of candidates drawn by worth, or -1 if none has any, and the sum of their worths.

    First one of the eight sums is drawn, then one of its candidates.
    """
    for step in range(count, -(-count // 8) * 8):
        worth[step] = 0.0
    sums = _eight_sums(worth, count)
    total, place = sums[7], -1
    at, lane = u * total, 0
    for step in range(7):
        lane += int(at >= sums[step])
    sum_so_far = sums[lane - 1] if lane > 0 else 0.0
    for step in range(lane, count, 8):
        sum_so_far += worth[step]
        if worth[step] > 0.0:
            place = step
            if at < sum_so_far:
                break
    if place < 0:
        # Rounding may leave the number a hair above the last sum: then the last one of any worth is taken.
        for step in range(count):
            place = step if worth[step] > 0.0 else place
    return place, total


@helper
def _look(
    model: Model,
    lamp: int,
    receiver: int,
    index: int,
    key: Word,
    lit: F64,
    found: int,
    scratch: F64,
    worth: F64,
    weights: F64,
    stack: Stack,
    total: F64,
) -> None:
    """Add the light of lit places at one receiver by one link; scratch (6, 3) is for places and directions."""
    normal, x, o, d, target = model.receivers.normal[receiver], scratch[0], scratch[1], scratch[2], scratch[3]
    place_in(model, receiver, scrambled(index, 0, key), scrambled(index, 1, key), x)
    first, count = int(scrambled(index, 2, key) * found), min(CANDIDATES, found)
    ways = 1 + len(model.mirrors.surface)
    _weigh(model, 0, lit, first, count, x, normal, worth)
    for way in range(1, ways):
        behind_mirror(model, way - 1, x, normal, scratch[4], scratch[5])
        _weigh(model, way, lit, first, count, scratch[4], scratch[5], worth[way * count :])
    picked, sum_of_worths = _pick(worth, ways * count, scrambled(index, 3, key))
    if picked < 0:
        return
    way, row = picked // count, first + picked % count
    for axis in range(3):
        target[axis] = lit[PLACE + axis, row]
    for band in range(len(weights)):
        weights[band] = lit[POWER + band, row]
    copy(x, o)
    if way == 0:
        distance = aim(x, target, d)
        if not clear(model, lamp, o, d, distance, weights, stack):
            return
    else:
        reflect_point(model, way - 1, target, scratch[4])
        distance = aim(x, scratch[4], d)
        if not through_mirror(model, lamp, way - 1, o, d, distance, weights, stack):
            return
    add_share(total, sum_of_worths / lit[SUM, row] * found / (count * math.pi * BATCH), weights)


@helper
def _wrap(lit: F64, found: int) -> None:
    """Write the first places once more behind the last, so that a run of candidates may begin anywhere."""
    for step in range(min(CANDIDATES, found)):
        for column in range(len(lit)):
            lit[column, found + step] = lit[column, step]


@kernel
def gather_links(
    model: Model, lamp: int, replicate: int, first: int, batches: int, links: I64, seed: int, total: F64
) -> None:
    """Add what lit places bring to receivers in one replicate.

    Parameters
    ----------
    first, batches : int
        First batch of photons and how many.
    links : (q,) int
        How many links with each batch every receiver has.
    total : (q, b) float
        Sums over links of irradiance per watt [m-2].
    """
    stream = stream_of(replicate, lamp)
    key, scramble = scramble_key(seed, stream, LIT), scramble_key(seed, stream, LINK)
    bands = total.shape[1]
    lit, worth = np.zeros((POWER + bands, _ROOM)), np.zeros(CANDIDATES * (1 + len(model.mirrors.surface)) + 8)
    o, d, scratch, weights = np.zeros(3), np.zeros(3), np.zeros((6, 3)), np.zeros(bands)
    stack = new_stack()
    for batch in range(first, first + batches):
        found = variable(0)
        for index in range(batch * BATCH, (batch + 1) * BATCH):
            more = _follow(model, lamp, index, seed, stream, key, o, d, weights, stack, lit, found)
            while more + CANDIDATES > lit.shape[1]:
                wider = np.zeros((len(lit), 2 * lit.shape[1]))
                for row in range(len(lit)):
                    copy(lit[row], wider[row, : lit.shape[1]])
                lit = wider
                more = _follow(model, lamp, index, seed, stream, key, o, d, weights, stack, lit, found)
            found = more
        if found == 0:
            continue
        _wrap(lit, found)
        for receiver in range(len(total)):
            own = mix(scramble, np.uint64(receiver))
            for index in range(batch * links[receiver], (batch + 1) * links[receiver]):
                _look(
                    model,
                    lamp,
                    receiver,
                    index,
                    own,
                    lit,
                    found,
                    scratch,
                    worth,
                    weights,
                    stack,
                    total[receiver],
                )
