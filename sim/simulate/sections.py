"""Sections through an enclosure, traced after a run so that they change none of its numbers."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

from sim.analysis.rows import is_profile
from sim.compile import Bodies, compile_scene
from sim.compile.sections import gather_sections
from sim.simulate.assemble import Traced
from sim.simulate.effort import LEAST_POINTS
from sim.simulate.tallies import REPLICATES, empty_tallies
from sim.simulate.trace import Tracer, kernel_seed

SHARE = 0.26
"""Of the photons of the run that the sections take on top."""
FEWEST, MOST = 1024, 32_768
"""Photons of each lamp in each replicate, at least and at most."""
FEW_POINTS = 2
"""Points of a lamp that glows evenly that each cell looks at in each replicate: photons are far noisier there.

Points of a beam differ more, and leave less for photons to bring.
"""
STEP = 4096
"""Photons of a lamp in each replicate between two looks at whether anybody still waits for the sections."""
SEED = 104_729
"""On top of the run's own: what is traced here is independent of it."""


def traced_sections(
    bodies: Bodies, run: Traced, seed: int, pool: ThreadPoolExecutor, stop: Callable[[], bool]
) -> Traced | None:
    """Return the receivers of all sections and their sums, or None where there are no sections or they are stopped.

    Parameters
    ----------
    bodies : Bodies
        Of the scene.
    run : Traced
        What goes before, of the same bodies.
    seed : int
        That of the run.
    pool : ThreadPoolExecutor
    stop : callable
        Looked at before every step.
    """
    compiled = compile_scene(bodies.seen, gathering=gather_sections, plain=True, bodies=bodies).without_cells()
    if not compiled.groups:
        return None
    tallies = empty_tallies(compiled, few_paths=True)  # those along the lines under lamps
    _take_over(run, Traced(compiled, tallies), pool)
    lamps, only_lines = len(tallies.photons), not len(compiled.model.planes.cells)
    each = run.tallies.histories / (REPLICATES * lamps)
    for lamp in range(lamps):
        points = FEW_POINTS if compiled.model.emitters.beam[lamp, 0] < 0 else LEAST_POINTS
        tracer = Tracer(compiled, tallies, kernel_seed(seed + SEED), pool, only_lines, least_points=points)
        wanted = int(min(MOST, max(FEWEST, SHARE * each)))
        while (done := int(tallies.photons[lamp])) < wanted:
            if stop():
                return None
            tracer.step(lamp, min(wanted, done + STEP))
    return Traced(compiled, tallies)


def _take_over(run: Traced, sections: Traced, pool: ThreadPoolExecutor) -> None:
    """Start the lines under the lamps from what the run read there: only what is missing there will be traced.

    On all threads: these are few numbers, but they lie all over memory that nobody has touched before.
    """
    lines = {group.name: group for group in run.compiled.groups if is_profile(group)}
    moved = []
    for group in filter(is_profile, sections.compiled.groups):
        first = lines[group.name].first - run.compiled.cells
        moved.append((slice(first, first + group.count), slice(group.first, group.first + group.count)))

    def take_over(replicate: int) -> None:
        for there, here in moved:
            for name in ("direct", "paths"):
                getattr(sections.tallies, name)[:, replicate, here] = getattr(run.tallies, name)[:, replicate, there]

    list(pool.map(take_over, range(REPLICATES)))
    for there, here in moved:
        for name in ("direct_count", "path_count"):
            getattr(sections.tallies, name)[:, here] = getattr(run.tallies, name)[:, there]
