"""Which way light by matt surfaces is brought to each plane: by photons that cross it, by paths from it or by links.

Photons suit a plane that many cross, paths a small or shaded one, links most others, but for light that wires scatter
or several mirrors turn. Nothing but a trial tells, so a short one is made,
with random numbers of its own: a choice made by the very numbers that it is then used on would bias them.
"""

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from sim.compile import CompiledScene
from sim.compile.compiled import FloatArray, IntArray
from sim.simulate.tallies import Tallies, empty_tallies
from sim.simulate.trace import Tracer
from sim.transport.arrays import BY_LINKS, BY_PATHS, BY_PHOTONS

TRIALS = 16
"""Replicates of a trial. The cells of a plane together tell its variance to some per cent. Where ways come that near to
each other it matters little which is taken: over four seeds of each demo scene none took a third longer."""
PHOTONS = 256
"""Of each lamp in each replicate of a trial."""
PILOT_SEED = 104_729
WORK = {BY_PHOTONS: 1.0, BY_PATHS: 3.0, BY_LINKS: 3.0}
"""About how long a run takes for each photon, with the paths or links that go with it. The way with the least variance
for its work is taken; these are fixed, since what a clock says would make two runs of one seed differ."""


def chosen_ways(compiled: CompiledScene, seed: int, pool: ThreadPoolExecutor, links: bool = True) -> CompiledScene:
    """Return the scene with the better way for each plane.

    Parameters
    ----------
    compiled : CompiledScene
    seed : int
        Of the run; the trial takes another that follows from it.
    pool : ThreadPoolExecutor
    links : bool
        Whether links are to be had; a graphics card makes none.
    """
    planes = compiled.model.planes.cells
    if not len(planes):
        return compiled
    ways = np.array([way for way in WORK if links or way != BY_LINKS])
    tallies = empty_tallies(compiled, TRIALS)
    tried = []
    for way in ways:
        tried.append(WORK[way] * _noise(compiled.with_ways(np.full(len(planes), way)), tallies, seed, pool))
        for name, sums in tallies.arrays().items():
            if name != "direct":  # where nothing was written, and where to write would take the most memory
                sums.fill(0)
    return compiled.with_ways(ways[np.argmin(tried, axis=0)])


def _noise(compiled: CompiledScene, tallies: Tallies, seed: int, pool: ThreadPoolExecutor) -> FloatArray:
    """Return the variance of what reaches each plane otherwise than straight, (k,) [m-4], for a share of the paths."""
    tracer = Tracer(compiled, tallies, (seed + PILOT_SEED) & 0xFFFFFFFF, pool, rays=False)
    noise = np.zeros(len(compiled.model.planes.cells))
    for lamp in range(len(tallies.photons)):
        tracer.step(lamp, PHOTONS)
        paths = np.maximum(1, tallies.path_count[lamp])
        for plane, rows in enumerate(_rows(compiled)):
            area = compiled.area[compiled.cells :][rows]
            crossed = tallies.crossed[lamp][:, rows].sum(axis=2) / np.where(area > 0.0, area, np.inf) / PHOTONS
            back = tallies.paths[lamp][:, rows].sum(axis=2) / paths[rows]
            # A trial gives every receiver some paths, in a large run it gets its share.
            share = PHOTONS * compiled.paths_to[rows] / max(float(compiled.paths_to.sum()), 1e-300)
            wasted = np.where(share > 0.0, paths[rows] / np.maximum(share, 1e-300), 1.0)
            noise[plane] += float((crossed.var(axis=0) + back.var(axis=0) * wasted).mean())
    return noise


def _rows(compiled: CompiledScene) -> list[slice]:
    cells: IntArray = compiled.model.planes.cells
    return [slice(int(first), int(first + nu * nv)) for first, nu, nv, _ in cells]
