"""Light that meets the wires of a woven screen; the physics stands in `sim.screens.wires`.

Directions here are (along, side, depth): components along a set's wires, across them in the screen, and square to the
screen. Seen from the other set the first two change places.
"""

import math

from sim.transport.arrays import F64, Laws, Surfaces
from sim.transport.jit import helper, routine
from sim.transport.parts import ABSORBED, AGAIN, ONCE, STRAIGHT
from sim.transport.rng import uniforms
from sim.transport.sampling import TWO_PI, sample_cosine
from sim.transport.triangles import woven_row

WIRES = 64
"""First purpose word of the random numbers used here; the next ones are those of further tries."""
MOST_TRIES = 1000
_LEAST = 1e-12


@helper
def in_screen(surfaces: Surfaces, triangle: int, d: F64) -> tuple[float, float, float]:
    """Return a direction's components along the first wires, along the second, and along the triangle's normal."""
    nx, ny, nz = surfaces.normal[triangle, 0], surfaces.normal[triangle, 1], surfaces.normal[triangle, 2]
    row = woven_row(surfaces, triangle)
    tx, ty, tz = surfaces.tangent[row, 0], surfaces.tangent[row, 1], surfaces.tangent[row, 2]
    x = d[0] * tx + d[1] * ty + d[2] * tz
    y = d[0] * (ny * tz - nz * ty) + d[1] * (nz * tx - nx * tz) + d[2] * (nx * ty - ny * tx)
    return x, y, d[0] * nx + d[1] * ny + d[2] * nz


@helper
def _hidden(fill: float, side: float, depth: float) -> float:
    """Return the share of the plane that a set of wires hides; above 1 where their shadows overlap."""
    return fill * math.sqrt(1.0 + (side / max(abs(depth), _LEAST)) ** 2)


@helper
def between_wires(laws: Laws, surfaces: Surfaces, law: int, triangle: int, d: F64) -> float:
    """Return the share of light that passes a woven screen straight."""
    x, y, z = in_screen(surfaces, triangle, d)
    first, second = _hidden(laws.fill[law, 0], y, z), _hidden(laws.fill[law, 1], x, z)
    return max(1.0 - first, 0.0) * max(1.0 - second, 0.0)


@helper
def _unhidden(own: float, other: float, along: float, side: float, depth: float) -> float:
    """Return the share of the wires of fill `own` in a direction that no wire hides."""
    front = 1.0 - 0.5 * min(1.0, _hidden(other, along, depth))
    return front / max(1.0, _hidden(own, side, depth))


@helper
def _caught(own: float, other: float, along: float, side: float, depth: float) -> float:
    """Return the share of light that meets wires of fill `own` first."""
    return _hidden(own, side, depth) * _unhidden(own, other, along, side, depth)


@helper
def _free(before: float, after: float, back: bool) -> float:
    """Return the chance that the other set is met neither on the way to a wire nor off it, by what it hides on each."""
    if not back:
        return 1.0 - 0.5 * (before + after)
    return 0.25 * (2.0 + (1.0 - before) * (1.0 - after) + min(1.0 - before, 1.0 - after))


@helper
def _clear(laws: Laws, law: int, column: int, along: float, side: float, depth: float) -> float:
    """Return the share of light off a set of wires that meets none again, by where it came from."""
    last, most = laws.clear.shape[2] - 1, laws.clear.shape[3] - 1
    at = last * min(1.0, abs(depth) / max(math.sqrt(side * side + depth * depth), _LEAST))
    on = most * min(1.0, _hidden(laws.fill[law, 1 - column], along, depth))
    i, j = min(int(at), last - 1), min(int(on), most - 1)
    table, u, v = laws.clear[law, column], at - i, on - j
    low = table[i, j] + v * (table[i, j + 1] - table[i, j])
    high = table[i + 1, j] + v * (table[i + 1, j + 1] - table[i + 1, j])
    return low + u * (high - low)


@helper
def _escapes(
    own: float,
    other: float,
    in_along: float,
    in_depth: float,
    along: float,
    side: float,
    depth: float,
) -> float:
    """Return the chance that light, come in to a wire of fill `own`, leaves without meeting another.

    The way in is given by where it came from, ``in_along`` and ``in_depth``.
    """
    before, after = min(1.0, _hidden(other, in_along, in_depth)), min(1.0, _hidden(other, along, depth))
    free = _free(before, after, in_depth * depth > 0.0) / (1.0 - 0.5 * before)
    return free / max(1.0, _hidden(own, side, depth))


@helper
def off_wire(side: float, depth: float, u1: float, u2: float, u3: float) -> tuple[float, float, float]:
    """Return a direction off a matt wire that is lit from (side, depth), whatever the component along it."""
    length = max(math.sqrt(side * side + depth * depth), _LEAST)
    side, depth = side / length, depth / length
    # Light finds the wire's points evenly across its diameter.
    sine = 2.0 * u1 - 1.0
    cosine = math.sqrt(1.0 - sine * sine)
    ns, nd = side * cosine - depth * sine, depth * cosine + side * sine
    x, y, z = sample_cosine(u2, u3)
    return x, z * ns - y * nd, z * nd + y * ns


@helper
def _pdf_off_wire(side: float, depth: float, out_along: float, out_side: float, out_depth: float) -> float:
    """Return the density per steradian of `off_wire`."""
    width = math.sqrt(max(0.0, 1.0 - out_along * out_along))
    scale = max(math.sqrt(side * side + depth * depth) * width, _LEAST)
    cosine = min(1.0, max(-1.0, (side * out_side + depth * out_depth) / scale))
    around = ((math.pi - math.acos(cosine)) * cosine + math.sqrt(1.0 - cosine * cosine)) / 8.0
    return around * 2.0 * width / math.pi


@routine
def _off_many(laws: Laws, law: int, index: int, bounce: int, seed: int, stream: int) -> tuple[float, float, float]:
    """Return a direction in which light leaves after several wires, in the screen's frame."""
    f0, f1 = laws.fill[law, 0], laws.fill[law, 1]
    x, y, z = 0.0, 0.0, 1.0
    for attempt in range(1, MOST_TRIES):
        u1, u2, u3, u4 = uniforms(index, bounce, WIRES + attempt, seed, stream)
        column, own, other, left = 0, f0, f1, u1 * (f0 + f1) / f0
        if left >= 1.0:
            column, own, other, left = 1, f1, f0, (left - 1.0) * f0 / f1
        # Evenly glowing wires: the cosine law across each point, seen from all around.
        along = math.sqrt(u2) * math.cos(TWO_PI * u3)
        width = math.sqrt(max(0.0, 1.0 - along * along))
        side, depth = width * math.sin(TWO_PI * u4), width * math.cos(TWO_PI * u4)
        x, y, z = (along, side, depth) if column == 0 else (side, along, depth)
        twice = 1.0 - _clear(laws, law, column, along, side, depth)
        if left * laws.twice[law, 1] < _unhidden(own, other, along, side, depth) * twice:
            break
    return x, y, z


@helper
def _weighed(laws: Laws, law: int, lamp: int, column: int, weights: F64, u: float) -> bool:
    """Return whether light lives on; change the bands' weights to keep their means true."""
    most = 0.0
    for band in range(len(weights)):
        if weights[band] > 0.0:
            most = max(most, laws.wires[law, lamp, band, column])
    if u >= most:
        return False
    for band in range(len(weights)):
        weights[band] *= laws.wires[law, lamp, band, column] / most
    return True


@routine
def meet_wires(
    surfaces: Surfaces,
    laws: Laws,
    law: int,
    triangle: int,
    lamp: int,
    d: F64,
    weights: F64,
    index: int,
    bounce: int,
    seed: int,
    stream: int,
    u1: float,
    u2: float,
    u3: float,
    u4: float,
) -> int:
    """Return what became of light that met a screen: STRAIGHT, ONCE, AGAIN or ABSORBED; change d and weights.

    ``u1`` to ``u4`` are uniform numbers of this meeting.
    """
    x, y, z = in_screen(surfaces, triangle, d)
    f0, f1 = laws.fill[law, 0], laws.fill[law, 1]
    passed = max(1.0 - _hidden(f0, y, z), 0.0) * max(1.0 - _hidden(f1, x, z), 0.0)
    if u1 < passed:
        return STRAIGHT
    v1, v2, _, _ = uniforms(index, bounce, WIRES, seed, stream)
    if u1 < passed + _caught(f0, f1, x, y, z):
        ox, oy, oz = off_wire(-y, -z, u2, u3, u4)
        free = _escapes(f0, f1, -x, -z, ox, oy, oz)
    else:
        oy, ox, oz = off_wire(-x, -z, u2, u3, u4)
        free = _escapes(f1, f0, -y, -z, oy, ox, oz)
    part = ONCE if v1 < free else AGAIN
    if not _weighed(laws, law, lamp, 0 if part == ONCE else 1, weights, v2):
        return ABSORBED
    if part == AGAIN:
        ox, oy, oz = _off_many(laws, law, index, bounce, seed, stream)
    normal, tangent = surfaces.normal[triangle], surfaces.tangent[woven_row(surfaces, triangle)]
    for axis in range(3):
        after, then = (axis + 1) % 3, (axis + 2) % 3
        across = normal[after] * tangent[then] - normal[then] * tangent[after]
        d[axis] = ox * tangent[axis] + oy * across + oz * normal[axis]
    return part


@routine
def wires_density(surfaces: Surfaces, laws: Laws, law: int, triangle: int, part: int, d: F64, out: F64) -> float:
    """Return the density per steradian at `out` of light that came along `d` and leaves by ONCE or AGAIN."""
    x, y, z = in_screen(surfaces, triangle, d)
    ox, oy, oz = in_screen(surfaces, triangle, out)
    f0, f1 = laws.fill[law, 0], laws.fill[law, 1]
    if part == AGAIN:
        first = _caught(f0, f1, ox, oy, oz) * (1.0 - _clear(laws, law, 0, ox, oy, oz))
        second = _caught(f1, f0, oy, ox, oz) * (1.0 - _clear(laws, law, 1, oy, ox, oz))
        return (first + second) * abs(oz) / (TWO_PI * laws.twice[law, 0])
    first, second = _caught(f0, f1, x, y, z), _caught(f1, f0, y, x, z)
    whole = first * _clear(laws, law, 0, x, y, z) + second * _clear(laws, law, 1, y, x, z)
    first *= _pdf_off_wire(-y, -z, ox, oy, oz) * _escapes(f0, f1, -x, -z, ox, oy, oz)
    second *= _pdf_off_wire(-x, -z, oy, ox, oz) * _escapes(f1, f0, -y, -z, oy, ox, oz)
    return (first + second) / whole
