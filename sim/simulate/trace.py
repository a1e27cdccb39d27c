"""One step of a run: some photons of one lamp in every replicate, with the paths that go with them, on all threads."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from sim.compile import CompiledScene
from sim.simulate.effort import path_counts, point_counts
from sim.simulate.tallies import REPLICATES, Tallies
from sim.transport.gather import gather_direct, gather_paths
from sim.transport.photons import trace_photons


def trace_step(
    compiled: CompiledScene, tallies: Tallies, lamp: int, photons: int, seed: int, pool: ThreadPoolExecutor
) -> None:
    """Trace a lamp up to a count of photons per replicate, and add to the tallies.

    Each replicate is one task on one thread that adds in a fixed order, so the bits of the sums do not depend on how
    many threads there are, nor on the steps in which the count is reached.
    """
    done = int(tallies.photons[lamp])
    paths = path_counts(photons, compiled.effort)
    points = point_counts(paths)
    before = tallies.direct_count[lamp].copy(), tallies.path_count[lamp].copy()
    more = np.maximum(points - before[0], 0), np.maximum(paths - before[1], 0)
    model = compiled.model

    def replicate_step(replicate: int) -> None:
        trace_photons(
            model,
            lamp,
            replicate,
            done,
            photons - done,
            seed,
            tallies.cells[lamp, replicate],
            tallies.absorbed[lamp, replicate],
            tallies.escaped[lamp, replicate],
            tallies.unfinished[lamp, replicate],
        )
        gather_direct(model, lamp, replicate, before[0], more[0], seed, tallies.direct[lamp, replicate])
        gather_paths(model, lamp, replicate, before[1], more[1], seed, tallies.paths[lamp, replicate])

    list(pool.map(replicate_step, range(REPLICATES)))
    tallies.photons[lamp] = photons
    tallies.direct_count[lamp] += more[0]
    tallies.path_count[lamp] += more[1]


def kernel_seed(seed: int) -> int:
    """Return a seed of any size folded to the 32 bits that the generators take."""
    return (seed ^ (seed >> 32)) & 0xFFFFFFFF
