"""Angular laws of lamps from tables: intensity by linear interpolation, and directions with exactly that density.

A law lies in one flat table, since kernels hand their arrays from call to call and each array costs. From its start:
unit vectors towards azimuths 0 and 90 degrees and along the polar axis (9); n polar angles [rad]; share of the power
within each (n); m azimuths [rad], 0 to 2 pi; share of the power per steradian at each node, azimuth running fastest
(n m); its integral over azimuth up to each node (n m).
"""

import math

from sim.transport.arrays import F64
from sim.transport.jit import helper, routine
from sim.transport.sampling import TWO_PI

AXES = 9
_STEPS = 40
"""Most steps of the search for a polar angle; Newton's take three to six, halving alone would reach 1e-12."""


@helper
def _node_below(table: F64, first: int, last: int, value: float) -> int:
    """Return the place among ``first … last - 1`` whose entry is the last not above a value."""
    low, high = first, last - 1
    while low < high:
        middle = (low + high + 1) // 2
        if table[middle] <= value:
            low = middle
        else:
            high = middle - 1
    return low


@routine
def beam_density(table: F64, start: int, n: int, m: int, dx: float, dy: float, dz: float) -> float:
    """Return the share of a lamp's power per steradian that leaves in a unit direction.

    Parameters
    ----------
    table : float array
        Laws as the head of this file says; this one begins at `start` and has `n` polar angles and `m` azimuths.
    """
    x = dx * table[start] + dy * table[start + 1] + dz * table[start + 2]
    y = dx * table[start + 3] + dy * table[start + 4] + dz * table[start + 5]
    z = dx * table[start + 6] + dy * table[start + 7] + dz * table[start + 8]
    first = start + AXES
    polar = math.atan2(math.sqrt(x * x + y * y), z)
    if polar < table[first] or polar > table[first + n - 1]:
        return 0.0
    azimuth = math.atan2(y, x)
    if azimuth < 0.0:
        azimuth += TWO_PI
    i = _node_below(table, first, first + n - 1, polar)
    s = (polar - table[i]) / (table[i + 1] - table[i])
    around = first + 2 * n
    j = _node_below(table, around, around + m - 1, azimuth)
    t = min(1.0, (azimuth - table[j]) / (table[j + 1] - table[j]))
    at = around + m + (i - first) * m + j - around
    low = (1.0 - t) * table[at] + t * table[at + 1]
    high = (1.0 - t) * table[at + m] + t * table[at + m + 1]
    return (1.0 - s) * low + s * high


@helper
def _polar_angle(start: float, end: float, low: float, high: float, wanted: float) -> float:
    """Return where the integral from `start` of a linear function times the sine has grown to a value.

    The function runs from `low` at `start` to `high` at `end`, both not negative.
    """
    slope = (high - low) / (end - start)
    from_start = -low * math.cos(start) + slope * math.sin(start)
    under, over = start, end
    angle = 0.5 * (start + end)
    for _ in range(_STEPS):
        value = low + slope * (angle - start)
        sine, cosine = math.sin(angle), math.cos(angle)
        excess = -value * cosine + slope * sine - from_start - wanted
        if excess > 0.0:
            over = angle
        else:
            under = angle
        rise = value * sine
        following = angle - excess / rise if rise > 0.0 else 0.5 * (under + over)
        if following <= under or following >= over:
            following = 0.5 * (under + over)
        if abs(following - angle) <= 1e-14:
            return following
        angle = following
    return angle


@helper
def _along(low: float, high: float, u: float) -> float:
    """Return where on 0 to 1 the integral of a linear function from `low` to `high` is the share u of the whole."""
    root = math.sqrt(max(0.0, (1.0 - u) * low * low + u * high * high))
    return min(1.0, u * (low + high) / (low + root)) if low + root > 0.0 else u


@routine
def sample_beam(table: F64, start: int, n: int, m: int, u1: float, u2: float, d: F64) -> None:
    """Set `d` to a direction with the density of `beam_density`, by inversion: polar angle, then azimuth."""
    first = start + AXES
    i = _node_below(table, first + n, first + 2 * n - 1, u1) - first - n
    azimuths = first + 2 * n
    density = azimuths + m + i * m
    around = density + n * m
    low, high = table[around + m - 1], table[around + 2 * m - 1]
    nearer, farther = table[first + i], table[first + i + 1]
    polar = _polar_angle(nearer, farther, low, high, u1 - table[first + n + i])
    s = (polar - nearer) / (farther - nearer)
    wanted = u2 * ((1.0 - s) * low + s * high)
    j, beyond = 0, m - 1
    while beyond - j > 1:
        middle = (j + beyond) // 2
        if (1.0 - s) * table[around + middle] + s * table[around + m + middle] <= wanted:
            j = middle
        else:
            beyond = middle
    here = (1.0 - s) * table[around + j] + s * table[around + m + j]
    there = (1.0 - s) * table[around + j + 1] + s * table[around + m + j + 1]
    left = (1.0 - s) * table[density + j] + s * table[density + m + j]
    right = (1.0 - s) * table[density + j + 1] + s * table[density + m + j + 1]
    share = min(1.0, max(0.0, (wanted - here) / (there - here))) if there > here else u2
    azimuth = table[azimuths + j] + _along(left, right, share) * (table[azimuths + j + 1] - table[azimuths + j])
    x, y, z = math.sin(polar) * math.cos(azimuth), math.sin(polar) * math.sin(azimuth), math.cos(polar)
    for axis in range(3):
        d[axis] = x * table[start + axis] + y * table[start + 3 + axis] + z * table[start + 6 + axis]
