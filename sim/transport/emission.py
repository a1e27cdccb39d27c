"""Where light leaves a lamp: one sampler for every kind of lamp, an emissive surface with an angular law."""

import math

import numpy as np

from sim.transport.arrays import F64, Emitters
from sim.transport.beams import beam_density, sample_beam
from sim.transport.jit import helper
from sim.transport.rng import Word
from sim.transport.sampling import about, sample_cosine, sample_triangle
from sim.transport.sobol import mix, scrambled


@helper
def sample_point(emitters: Emitters, lamp: int, u0: float, u1: float, u2: float, point: F64) -> int:
    """Set `point` to a uniform point of a lamp's emissive area; return its row among the emitters."""
    first, last = emitters.first[lamp], emitters.first[lamp + 1]
    low, high = first, last - 1
    # Most lamps are of equal faces, where the first guess is right; each turn of the search is one more.
    guess = first + int(u0 * (last - first))
    if emitters.cumulative[guess] > u0 and (guess == first or emitters.cumulative[guess - 1] <= u0):
        low, high = guess, guess
    while low < high:
        middle = (low + high) // 2
        if emitters.cumulative[middle] > u0:
            high = middle
        else:
            low = middle + 1
    # Evenly spread points of a parallelogram stay so; folded onto a triangle they lose some of it.
    s, t = (u1, u2) if emitters.whole[low] == 1 else sample_triangle(u1, u2)
    for axis in range(3):
        point[axis] = emitters.corner[low, axis] + s * emitters.edge1[low, axis] + t * emitters.edge2[low, axis]
    return low


@helper
def sample_direction(emitters: Emitters, lamp: int, row: int, u1: float, u2: float, d: F64) -> None:
    """Set `d` to a direction off an emissive triangle's front, by the lamp's own law or Lambert's."""
    start = emitters.beam[lamp, 0]
    if start >= 0:
        sample_beam(emitters.beams, start, emitters.beam[lamp, 1], emitters.beam[lamp, 2], u1, u2, d)
        return
    x, y, z = sample_cosine(u1, u2)
    d[0], d[1], d[2] = about(emitters.normal[row, 0], emitters.normal[row, 1], emitters.normal[row, 2], x, y, z)


@helper
def emit(emitters: Emitters, lamp: int, index: int, key: Word, o: F64, d: F64) -> int:
    """Set o and d to where a photon starts and to where it goes, by a scrambled point; return a triangle it leaves."""
    row = sample_point(emitters, lamp, scrambled(index, 0, key), scrambled(index, 1, key), scrambled(index, 2, key), o)
    sample_direction(emitters, lamp, row, scrambled(index, 3, key), scrambled(index, 4, key), d)
    return emitters.triangle[row]


@helper
def leaving(emitters: Emitters, lamp: int, cosine: float, dx: float, dy: float, dz: float) -> float:
    """Return pi times the share of a lamp's power per steradian that leaves its points in a unit direction.

    By Lambert's law that is `cosine`, the direction's with the normal.
    """
    start = emitters.beam[lamp, 0]
    if start < 0:
        return cosine
    return math.pi * beam_density(emitters.beams, start, emitters.beam[lamp, 1], emitters.beam[lamp, 2], dx, dy, dz)


@helper
def stream_of(replicate: int, lamp: int) -> int:
    """Return the stream of random numbers of a replicate and lamp."""
    return lamp * 4096 + replicate


@helper
def scramble_key(seed: int, stream: int, purpose: int) -> Word:
    """Return the key that scrambles a replicate's low-discrepancy points."""
    return mix(mix(np.uint64(seed), np.uint64(stream)), np.uint64(purpose))
