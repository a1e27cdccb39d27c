"""The corners of single photons' ways, for looking at: the same photons that `trace_photons` traces."""

import numpy as np

from sim.transport.arrays import F64, I64, Model
from sim.transport.emission import emit, scramble_key, stream_of
from sim.transport.jit import kernel
from sim.transport.parts import ABSORBED
from sim.transport.photons import EMISSION
from sim.transport.scatter import scatter
from sim.transport.tree_traverse import MISS, closest_hit, new_stack
from sim.transport.vectors import copy


@kernel
def record_photons(
    model: Model, lamp: int, replicate: int, count: int, seed: int, away: float, corners: F64, lengths: I64
) -> None:
    """Follow photons ``0 … count - 1`` of a lamp in one replicate and write down where they turn.

    Parameters
    ----------
    model : Model
    lamp, replicate, count, seed : int
    away : float [m]
        How far a photon that escapes is followed.
    corners : (count, steps, 3) float [m]
        Filled with the start, every surface that is met, and the end; what does not fit is left out.
    lengths : (count,) int
        Filled with the number of corners of each photon.
    """
    steps = corners.shape[1]
    stream = stream_of(replicate, lamp)
    key = scramble_key(seed, stream, EMISSION)
    o, d = np.zeros(3), np.zeros(3)
    weights = np.zeros(model.emitters.live.shape[1])
    stack = new_stack()
    for index in range(count):
        triangle = emit(model.emitters, lamp, index, key, o, d)
        copy(model.emitters.live[lamp], weights)
        copy(o, corners[index, 0])
        lengths[index] = 1
        for bounce in range(steps - 1):
            t, triangle = closest_hit(model.tree, o, d, np.inf, stack, triangle)
            reach = away if triangle == MISS else t
            for axis in range(3):
                o[axis] += reach * d[axis]
            copy(o, corners[index, bounce + 1])
            lengths[index] = bounce + 2
            if triangle == MISS:
                break
            part = scatter(model.surfaces, model.laws, triangle, lamp, d, weights, index, bounce, seed, stream)
            if part == ABSORBED or weights.sum() == 0.0:
                break
