"""Where light leaves a lamp: one sampler for every kind of lamp, an emissive surface with an angular law."""

import math

import numpy as np

from sim.transport.arrays import F64, Emitters
from sim.transport.beams import beam_density, sample_beam
from sim.transport.jit import helper
from sim.transport.rng import Word
from sim.transport.sampling import basis, sample_cosine, sample_triangle
from sim.transport.sobol import BLOCK, mix, scrambled, scrambled_block


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
    nx, ny, nz = emitters.normal[row, 0], emitters.normal[row, 1], emitters.normal[row, 2]
    ax, ay, az, bx, by, bz = basis(nx, ny, nz)
    x, y, z = sample_cosine(u1, u2)
    d[0] = ax * x + bx * y + nx * z
    d[1] = ay * x + by * y + ny * z
    d[2] = az * x + bz * y + nz * z


@helper
def emit_by(
    emitters: Emitters, lamp: int, u0: float, u1: float, u2: float, u3: float, u4: float, o: F64, d: F64
) -> int:
    """Set o and d to where a photon starts and to where it goes, by five numbers; return a triangle that it leaves."""
    row = sample_point(emitters, lamp, u0, u1, u2, o)
    sample_direction(emitters, lamp, row, u3, u4, d)
    return emitters.triangle[row]


@helper
def emit(emitters: Emitters, lamp: int, index: int, key: Word, o: F64, d: F64) -> int:
    """Do what `emit_by` does, by a scrambled point."""
    u0, u1, u2 = scrambled(index, 0, key), scrambled(index, 1, key), scrambled(index, 2, key)
    return emit_by(emitters, lamp, u0, u1, u2, scrambled(index, 3, key), scrambled(index, 4, key), o, d)


@helper
def emit_next(emitters: Emitters, lamp: int, index: int, key: Word, rows: F64, o: F64, d: F64) -> int:
    """Do what `emit` does for photons one after the other; rows (5, BLOCK) keep the points of several.

    A block's points are made where its first photon starts: whoever starts within a block makes them before.
    """
    at = index % BLOCK
    if at == 0:
        scrambled_block(index // BLOCK, key, rows)
    return emit_by(emitters, lamp, rows[0, at], rows[1, at], rows[2, at], rows[3, at], rows[4, at], o, d)


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
