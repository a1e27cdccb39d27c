"""Angular laws of lamps from tables: intensity by linear interpolation, and directions with exactly that density."""

import math

from sim.transport.arrays import F64, Beams
from sim.transport.jit import helper, routine
from sim.transport.sampling import TWO_PI

_STEPS = 40
"""Most steps of the search for a polar angle; Newton's take three to six, halving alone would reach 1e-12."""


@helper
def _node_below(nodes: F64, first: int, last: int, value: float) -> int:
    """Return the row of ``first … last - 1`` whose node is the last not above a value."""
    low, high = first, last - 1
    while low < high:
        middle = (low + high + 1) // 2
        if nodes[middle] <= value:
            low = middle
        else:
            high = middle - 1
    return low


@routine
def beam_density(beams: Beams, row: int, dx: float, dy: float, dz: float) -> float:
    """Return the share of a lamp's power per steradian that leaves in a unit direction."""
    axes = beams.axes[row]
    x = dx * axes[0, 0] + dy * axes[0, 1] + dz * axes[0, 2]
    y = dx * axes[1, 0] + dy * axes[1, 1] + dz * axes[1, 2]
    z = dx * axes[2, 0] + dy * axes[2, 1] + dz * axes[2, 2]
    polar = math.atan2(math.sqrt(x * x + y * y), z)
    start, end = beams.first_polar[row], beams.first_polar[row + 1]
    if polar < beams.polar[start] or polar > beams.polar[end - 1]:
        return 0.0
    azimuth = math.atan2(y, x)
    if azimuth < 0.0:
        azimuth += TWO_PI
    i = _node_below(beams.polar, start, end - 1, polar)
    s = (polar - beams.polar[i]) / (beams.polar[i + 1] - beams.polar[i])
    first, last = beams.first_azimuth[row], beams.first_azimuth[row + 1]
    j = _node_below(beams.azimuth, first, last - 1, azimuth)
    t = min(1.0, (azimuth - beams.azimuth[j]) / (beams.azimuth[j + 1] - beams.azimuth[j]))
    columns = last - first
    at = beams.first[row] + (i - start) * columns + j - first
    low = (1.0 - t) * beams.density[at] + t * beams.density[at + 1]
    high = (1.0 - t) * beams.density[at + columns] + t * beams.density[at + columns + 1]
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
def sample_beam(beams: Beams, row: int, u1: float, u2: float, d: F64) -> None:
    """Set `d` to a direction with the density of `beam_density`, by inversion: polar angle, then azimuth."""
    start, end = beams.first_polar[row], beams.first_polar[row + 1]
    first, last = beams.first_azimuth[row], beams.first_azimuth[row + 1]
    columns = last - first
    i = _node_below(beams.below, start, end - 1, u1)
    at = beams.first[row] + (i - start) * columns
    low, high = beams.around[at + columns - 1], beams.around[at + 2 * columns - 1]
    polar = _polar_angle(beams.polar[i], beams.polar[i + 1], low, high, u1 - beams.below[i])
    s = (polar - beams.polar[i]) / (beams.polar[i + 1] - beams.polar[i])
    wanted = u2 * ((1.0 - s) * low + s * high)
    j, beyond = 0, columns - 1
    while beyond - j > 1:
        middle = (j + beyond) // 2
        if (1.0 - s) * beams.around[at + middle] + s * beams.around[at + columns + middle] <= wanted:
            j = middle
        else:
            beyond = middle
    here = (1.0 - s) * beams.around[at + j] + s * beams.around[at + columns + j]
    there = (1.0 - s) * beams.around[at + j + 1] + s * beams.around[at + columns + j + 1]
    left = (1.0 - s) * beams.density[at + j] + s * beams.density[at + columns + j]
    right = (1.0 - s) * beams.density[at + j + 1] + s * beams.density[at + columns + j + 1]
    share = min(1.0, max(0.0, (wanted - here) / (there - here))) if there > here else u2
    nodes = beams.azimuth[first + j], beams.azimuth[first + j + 1]
    azimuth = nodes[0] + _along(left, right, share) * (nodes[1] - nodes[0])
    x, y, z = math.sin(polar) * math.cos(azimuth), math.sin(polar) * math.sin(azimuth), math.cos(polar)
    axes = beams.axes[row]
    for axis in range(3):
        d[axis] = x * axes[0, axis] + y * axes[1, axis] + z * axes[2, axis]
