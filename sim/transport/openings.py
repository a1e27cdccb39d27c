"""Where paths from a point set out to: by the cosine law, and as often to where a lamp's light leaves its reflector.

A mirror sends a point much light from few directions. What looks for it by the cosine law alone seldom meets it: the
point is known badly, and so is its error as long as there are few such meetings. Both ways together are one density
(E. Veach, Robust Monte Carlo Methods for Light Transport Simulation, 1997, section 9.2). What plane mirrors show of an
opening counts as one. From matt places that paths meet those are sent there that would end: none weighs more for it.
"""

import math

from sim.transport.arrays import F64, Emitters
from sim.transport.jit import helper, routine
from sim.transport.sampling import basis, sample_cosine

AIMED = 0.5
"""Share of the paths that are sent to openings from a receiver where some are in sight."""
CORNER, EDGE_U, EDGE_V, NORMAL, AREA, SQUARE_U, SQUARE_V, WORTH = 0, 3, 6, 9, 12, 13, 14, 15
COLUMNS = 16
"""Columns of ``opening`` in `Emitters`, and how many there are. Paths are sent to each as often as it is worth."""


@helper
def _over(opening: F64, column: int, x: F64) -> float:
    """Return the product of an opening's vector with the way from its corner to a point."""
    along = 0.0
    for axis in range(3):
        along += opening[column + axis] * (x[axis] - opening[CORNER + axis])
    return along


@helper
def _turned_to(opening: F64, column: int, normal: F64) -> float:
    """Return the product of an opening's vector with a normal."""
    return opening[column] * normal[0] + opening[column + 1] * normal[1] + opening[column + 2] * normal[2]


@helper
def _worth_in_sight(opening: F64, x: F64, normal: F64) -> float:
    """Return an opening's worth if a receiver lies before it and looks towards a corner of it, else 0."""
    if _over(opening, NORMAL, x) <= 0.0:
        return 0.0
    highest = max(0.0, _turned_to(opening, EDGE_U, normal)) + max(0.0, _turned_to(opening, EDGE_V, normal))
    for axis in range(3):
        highest += (opening[CORNER + axis] - x[axis]) * normal[axis]
    return opening[WORTH] if highest > 0.0 else 0.0


@helper
def is_aimed(emitters: Emitters, lamp: int, whole: bool) -> bool:
    """Return whether paths are sent to openings: those to what is `whole`, of a lamp that has a reflector.

    Only these have to bring more than light by matt surfaces, see `sim.transport.direct`.
    """
    return whole and bool(emitters.opening_first[lamp] < emitters.opening_first[lamp + 1])


@helper
def _in_sight(emitters: Emitters, lamp: int, x: F64, normal: F64) -> float:
    """Return the worth of all openings that a receiver may see."""
    worth = 0.0
    for row in range(emitters.opening_first[lamp], emitters.opening_first[lamp + 1]):
        worth += _worth_in_sight(emitters.opening[row], x, normal)
    return worth


@helper
def _through(opening: F64, x: F64, d: F64) -> float:
    """Return the density per steradian of directions from x to points all over an opening."""
    slope = 0.0
    for axis in range(3):
        slope -= opening[NORMAL + axis] * d[axis]
    if slope <= 0.0:
        return 0.0
    t = _over(opening, NORMAL, x) / slope
    u, v = _over(opening, EDGE_U, x), _over(opening, EDGE_V, x)
    for axis in range(3):
        u += t * opening[EDGE_U + axis] * d[axis]
        v += t * opening[EDGE_V + axis] * d[axis]
    inside = 0.0 <= u <= opening[SQUARE_U] and 0.0 <= v <= opening[SQUARE_V]
    return t * t / (slope * opening[AREA]) if inside else 0.0


@routine
def aimed_density(emitters: Emitters, lamp: int, x: F64, normal: F64, d: F64) -> float:
    """Return the density per steradian at d of directions from x to points all over the openings in sight."""
    total, through = 0.0, 0.0
    for row in range(emitters.opening_first[lamp], emitters.opening_first[lamp + 1]):
        worth = _worth_in_sight(emitters.opening[row], x, normal)
        if worth > 0.0:
            total += worth
            through += worth * _through(emitters.opening[row], x, d)
    return through / total if total > 0.0 else 0.0


@routine
def aim_at_opening(emitters: Emitters, lamp: int, x: F64, normal: F64, u: float, v: float, d: F64) -> float:
    """Set d to the way to a point of the openings in sight, by two uniform numbers; return its cosine with the normal.

    The cosine is zero where no opening is in sight.
    """
    total = _in_sight(emitters, lamp, x, normal)
    if total == 0.0:
        return 0.0
    row, left, own = emitters.opening_first[lamp], u * total, 0.0
    for other in range(emitters.opening_first[lamp], emitters.opening_first[lamp + 1]):
        worth = _worth_in_sight(emitters.opening[other], x, normal)
        # The last one in sight takes what rounding leaves.
        if worth > 0.0 and left >= own:
            row, left, own = other, left - own, worth
    opening, square, cosine = emitters.opening[row], 0.0, 0.0
    u = min(1.0, left / own)
    for axis in range(3):
        d[axis] = opening[CORNER + axis] + u * opening[EDGE_U + axis] + v * opening[EDGE_V + axis] - x[axis]
        square += d[axis] * d[axis]
    for axis in range(3):
        d[axis] /= math.sqrt(square)
        cosine += d[axis] * normal[axis]
    return max(0.0, cosine)


@helper
def first_density(emitters: Emitters, lamp: int, whole: bool, x: F64, normal: F64, d: F64, cosine: float) -> float:
    """Return the density per steradian of d, at a cosine with the normal, among directions of `first_direction`."""
    density = cosine / math.pi
    if not is_aimed(emitters, lamp, whole) or _in_sight(emitters, lamp, x, normal) == 0.0:
        return density
    return (1.0 - AIMED) * density + AIMED * aimed_density(emitters, lamp, x, normal, d)


@helper
def first_direction(
    emitters: Emitters, lamp: int, whole: bool, x: F64, normal: F64, u: float, v: float, d: F64
) -> float:
    """Set d to where a path sets out from a receiver by two uniform numbers; return its cosine with the normal."""
    if is_aimed(emitters, lamp, whole) and _in_sight(emitters, lamp, x, normal) > 0.0:
        if u < AIMED:
            return aim_at_opening(emitters, lamp, x, normal, u / AIMED, v, d)
        u = (u - AIMED) / (1.0 - AIMED)
    ax, ay, az, bx, by, bz = basis(normal[0], normal[1], normal[2])
    p, q, cosine = sample_cosine(u, v)
    d[0] = ax * p + bx * q + normal[0] * cosine
    d[1] = ay * p + by * q + normal[1] * cosine
    d[2] = az * p + bz * q + normal[2] * cosine
    return cosine
