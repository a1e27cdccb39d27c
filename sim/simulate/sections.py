"""Sections through an enclosure, traced after a run so that they change none of its numbers."""

from concurrent.futures import ThreadPoolExecutor

from sim.compile import Bodies, compile_scene
from sim.compile.sections import gather_sections
from sim.simulate.assemble import Traced
from sim.simulate.effort import LEAST_POINTS
from sim.simulate.tallies import REPLICATES, empty_tallies
from sim.simulate.trace import Tracer, kernel_seed

SHARE = 0.25
"""Of the photons of the run that the sections take on top."""
FEWEST, MOST = 1024, 32_768
"""Photons of each lamp in each replicate, at least and at most."""
FEW_POINTS = 4
"""Points of a lamp that glows evenly that each cell looks at in each replicate: photons are far noisier there.

Points of a beam differ more, and leave less for photons to bring.
"""
SEED = 104_729
"""On top of the run's own: the errors of the two are independent."""


def traced_sections(bodies: Bodies, histories: int, seed: int, pool: ThreadPoolExecutor) -> Traced | None:
    """Return the receivers of all sections and their sums, or None where there are no sections.

    Parameters
    ----------
    bodies : Bodies
        Of the scene.
    histories, seed : int
        Photons of the run, and its seed.
    pool : ThreadPoolExecutor
    """
    compiled = compile_scene(bodies.seen, gathering=gather_sections, plain=True, bodies=bodies).without_cells()
    if not compiled.groups:
        return None
    tallies = empty_tallies(compiled)
    lamps = len(tallies.photons)
    each = histories / (REPLICATES * lamps)
    for lamp in range(lamps):
        points = FEW_POINTS if compiled.model.emitters.beam[lamp, 0] < 0 else LEAST_POINTS
        tracer = Tracer(compiled, tallies, kernel_seed(seed + SEED), pool, least_points=points)
        tracer.step(lamp, int(min(MOST, max(FEWEST, SHARE * each))))
    return Traced(compiled, tallies)
