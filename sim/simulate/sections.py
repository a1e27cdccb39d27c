"""Sections through an enclosure, traced after a run so that they change none of its numbers."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np

from sim.compile import compile_scene
from sim.compile.sections import gather_sections
from sim.scene.check import Survey
from sim.simulate.assemble import assemble
from sim.simulate.power import Powers
from sim.simulate.tallies import REPLICATES, empty_tallies
from sim.simulate.trace import Tracer, kernel_seed
from sim.tally.result import Result

SHARE = 0.25
"""Of the photons of the run that the sections take on top."""
FEWEST, MOST = 1024, 32_768
"""Photons of each lamp in each replicate, at least and at most."""
SEED = 104_729
"""On top of the run's own: the errors of the two are independent."""


def with_sections(result: Result, seen: Survey, powers: Powers, pool: ThreadPoolExecutor) -> Result:
    """Return a result with the receivers of the sections after its own.

    Parameters
    ----------
    result : Result
    seen : Survey
        Of its scene.
    powers : Powers
        Of its lamps.
    pool : ThreadPoolExecutor
    """
    compiled = compile_scene(seen, gathering=gather_sections)
    if not any(group.kind == "section" for group in compiled.groups):
        return result
    tallies = empty_tallies(compiled)
    tracer = Tracer(compiled, tallies, kernel_seed(result.meta.seed + SEED), pool)
    each = result.meta.histories / (REPLICATES * len(result.lamps))
    for lamp in range(len(result.lamps)):
        tracer.step(lamp, int(min(MOST, max(FEWEST, SHARE * each))))
    return _joined(result, assemble(seen, compiled, tallies, powers, result.meta, pool))


def _joined(result: Result, extra: Result) -> Result:
    groups = extra.of_kind("section")
    rows = np.concatenate([np.arange(group.first, group.first + group.count) for group in groups])
    firsts = len(result.area) + np.cumsum([0, *(group.count for group in groups)])
    moved = (replace(group, first=int(first)) for group, first in zip(groups, firsts[:-1], strict=True))
    return replace(
        result,
        groups=(*result.groups, *moved),
        centre=np.concatenate([result.centre, extra.centre[rows]]),
        normal=np.concatenate([result.normal, extra.normal[rows]]),
        area=np.concatenate([result.area, extra.area[rows]]),
        irradiance=np.concatenate([result.irradiance, extra.irradiance[:, rows]], axis=1),
    )
