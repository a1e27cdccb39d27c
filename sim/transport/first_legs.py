"""The first leg of each photon's way, for several photons at a time: where they start, and what they meet first.

A history is a chain: each link waits for the one before, and for memory. First legs know nothing of each other, so the
processor works on many at once. What they find is what each would find alone, to the last bit.
"""

from typing import NamedTuple

import numpy as np

from sim.transport.arrays import F64, I64, Emitters, Model, Stack
from sim.transport.emission import sample_direction, sample_point
from sim.transport.jit import helper, maker, routine
from sim.transport.rng import Word
from sim.transport.sampling import about, sample_cosine
from sim.transport.scatter import numbers_of
from sim.transport.sobol import BLOCK, scrambled_block
from sim.transport.tree_lanes import call_place
from sim.transport.tree_traverse import Rays, new_stack, next_hits_of
from sim.transport.triangles import call_triangle
from sim.transport.vectors import copy

MANY = 4 * BLOCK
"""Photons that set out together, those of a few blocks of points; more gain nothing."""
SOON = 4
"""What lies on a triangle is asked of memory so many photons before it is looked at."""


class FirstLegs(NamedTuple):
    """Scratch of MANY photons; that of index i is in row or column ``i % MANY``.

    ``origin``, ``towards`` (MANY, 3): where each starts, and to where. ``leaving``, ``triangle``, ``distance`` (MANY,):
    the triangle it leaves, the one it meets or MISS, and how far off [m]. ``numbers`` (4, MANY): random numbers of that
    meeting. ``points`` (5, BLOCK): points of a block. ``one``, ``two``: for walks.
    """

    origin: F64
    towards: F64
    leaving: I64
    triangle: I64
    distance: F64
    numbers: F64
    points: F64
    one: Stack
    two: Stack


@maker
def new_first_legs() -> FirstLegs:
    """Return scratch for the first legs of one photon after the other."""
    return FirstLegs(
        np.zeros((MANY, 3)),
        np.zeros((MANY, 3)),
        np.zeros(MANY, dtype=np.int64),
        np.zeros(MANY, dtype=np.int64),
        np.zeros(MANY),
        np.zeros((4, MANY)),
        np.zeros((5, BLOCK)),
        new_stack(),
        new_stack(),
    )


@helper
def _lambert(x: F64, y: F64, z: F64, u1: F64, u2: F64) -> None:
    """Turn normals into directions off their fronts by Lambert's law, several at a time."""
    for point in range(BLOCK):
        dx, dy, dz = sample_cosine(u1[point], u2[point])
        x[point], y[point], z[point] = about(x[point], y[point], z[point], dx, dy, dz)


@helper
def _emit_block(emitters: Emitters, lamp: int, block: int, key: Word, legs: FirstLegs) -> None:
    """Let the photons of a block start, as `sim.transport.emission.emit` does one."""
    points, start = legs.points, block * BLOCK % MANY
    by_lambert = emitters.beam[lamp, 0] < 0
    scrambled_block(block, key, points)
    for point in range(BLOCK):
        row = sample_point(
            emitters, lamp, points[0, point], points[1, point], points[2, point], legs.origin[start + point]
        )
        legs.leaving[start + point] = emitters.triangle[row]
        if by_lambert:
            for axis in range(3):
                points[axis, point] = emitters.normal[row, axis]
        else:
            sample_direction(emitters, lamp, row, points[3, point], points[4, point], legs.towards[start + point])
    if by_lambert:
        _lambert(points[0], points[1], points[2], points[3], points[4])
        for point in range(BLOCK):
            for axis in range(3):
                legs.towards[start + point, axis] = points[axis, point]


@routine
def set_off(model: Model, lamp: int, first: int, last: int, seed: int, stream: int, key: Word, legs: FirstLegs) -> None:
    """Let photons ``first … last - 1`` start and find what they meet; their indices over MANY are equal but for rests.

    Parameters
    ----------
    model : Model
    lamp, first, last, seed, stream : int
    key : uint64
        Of the points by which photons start.
    legs : FirstLegs
        Filled.
    """
    for block in range(first // BLOCK, (last - 1) // BLOCK + 1):
        _emit_block(model.emitters, lamp, block, key, legs)
    start, end = first % MANY, (last - 1) % MANY + 1
    rays = Rays(
        legs.origin[start:end],
        legs.towards[start:end],
        legs.leaving[start:end],
        legs.distance[start:end],
        legs.triangle[start:end],
    )
    next_hits_of(model.tree, rays, legs.one, legs.two)
    for index in range(first, last):
        at = index % MANY
        legs.numbers[0, at], legs.numbers[1, at], legs.numbers[2, at], legs.numbers[3, at] = numbers_of(
            index, 0, seed, stream
        )


@helper
def take(
    model: Model, legs: FirstLegs, index: int, o: F64, d: F64
) -> tuple[float, int, tuple[float, float, float, float]]:
    """Set o and d to where a photon starts and to where it goes; return what it meets and how far off, with numbers."""
    at = index % MANY
    soon = legs.triangle[min(at + SOON, MANY - 1)]
    call_triangle(model.surfaces, soon)
    call_place(model.tree, soon)
    copy(legs.origin[at], o)
    copy(legs.towards[at], d)
    numbers = legs.numbers[0, at], legs.numbers[1, at], legs.numbers[2, at], legs.numbers[3, at]
    return legs.distance[at], legs.triangle[at], numbers
