"""One step of a run: some photons of one lamp in every replicate, with the paths that go with them, on all threads."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from sim.compile import CompiledScene
from sim.simulate.effort import LEAST_POINTS, batch_count, cell_point_count, links_a_batch, path_counts, point_counts
from sim.simulate.tallies import Tallies
from sim.transport.direct import gather_direct
from sim.transport.links import gather_links
from sim.transport.paths import gather_paths
from sim.transport.photons import trace_photons

if TYPE_CHECKING:
    from sim.transport.gpu.card import Card

IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

BLOCK = 64
"""Receivers whose straight light is one task."""


class _More(NamedTuple):
    """What a step adds in each replicate: photons, points and paths of each receiver; which get all by paths.

    Last, the links of each receiver with every batch of lit places.
    """

    photons: int
    points: IntArray
    paths: IntArray
    whole: BoolArray
    links: IntArray


@dataclass(frozen=True)
class Tracer:
    """What traces a compiled scene and adds to its tallies.

    With `points_only` no photon is traced: enough where nothing but points is read, and without books of energy.
    Without `rays` no receiver looks at a lamp; with `photons_only` nothing else than photons is traced.
    With a `card` all is traced there, and the pool is idle. Every receiver looks at `least_points` of the lamp or more.
    """

    compiled: CompiledScene
    tallies: Tallies
    seed: int
    pool: ThreadPoolExecutor
    points_only: bool = False
    photons_only: bool = False
    rays: bool = True
    card: "Card | None" = None
    least_points: int = LEAST_POINTS

    def step(self, lamp: int, photons: int) -> None:
        """Trace a lamp up to a count of photons in each replicate.

        Each replicate, or block of receivers, is one task on one thread that adds in a fixed order, so the bits of the
        sums do not depend on how many threads there are, nor on the steps in which the count is reached.
        """
        tallies = self.tallies
        links = links_a_batch(self.compiled.links_to)
        paths, linked = path_counts(photons, self.compiled.paths_to), batch_count(photons) * links
        cells = len(self.compiled.straight)
        cell_points = np.full(cells, cell_point_count(photons, cells))
        points = np.concatenate([point_counts(photons, paths, linked, self.least_points), cell_points])
        whole = np.concatenate([self.compiled.whole, np.zeros(cells, dtype=np.bool_)])
        more_points = np.maximum(points - tallies.direct_count[lamp], 0)
        more_paths = np.maximum(paths + linked - tallies.path_count[lamp], 0)
        count = 0 if self.points_only else photons - int(tallies.photons[lamp])
        more = _More(count, more_points, np.where(links > 0, 0, more_paths), whole, links)
        assert self.card is None or not links.any(), "links are the processor's"
        if self.card is None:
            self._on_threads(lamp, photons, more)
        else:
            self._on_card(lamp, more, self.card)
        tallies.photons[lamp] = photons
        tallies.direct_count[lamp] += more_points
        tallies.path_count[lamp] += more_paths

    def _on_threads(self, lamp: int, photons: int, more: _More) -> None:
        tallies, model, seed = self.tallies, self.compiled.model, self.seed
        done = int(tallies.photons[lamp])
        batches = batch_count(photons) - batch_count(done) if more.links.any() else 0
        seen_points, seen_paths = tallies.direct_count[lamp].copy(), tallies.path_count[lamp].copy()
        back = bool(more.paths.any())

        def replicate_step(replicate: int) -> None:
            if more.photons:
                trace_photons(model, lamp, replicate, done, more.photons, seed, tallies.of_photons(lamp, replicate))
            if self.photons_only:
                return
            if batches:
                gather_links(
                    model, lamp, replicate, batch_count(done), batches, more.links, seed, tallies.paths[lamp, replicate]
                )
            if back:
                gather_paths(
                    model, lamp, replicate, seen_paths, more.paths, more.whole, seed, tallies.paths[lamp, replicate]
                )

        def receivers_step(start: int) -> None:
            end = min(start + BLOCK, len(more.points))
            gather_direct(model, lamp, start, end, seen_points, more.points, more.whole, seed, tallies.direct[lamp])

        tasks = [partial(replicate_step, replicate) for replicate in range(tallies.replicates)]
        if self.rays and not self.photons_only:
            # The longest first, and all in one go: they write to sums of their own, and no thread waits for another.
            tasks = [partial(receivers_step, start) for start in range(0, len(more.points), BLOCK)] + tasks
        list(self.pool.map(lambda task: task(), tasks))

    def _on_card(self, lamp: int, more: _More, card: "Card") -> None:
        tallies, seed = self.tallies, self.seed
        sums = card.photons(lamp, int(tallies.photons[lamp]), more.photons, seed)
        for name, found in sums._asdict().items():
            getattr(tallies, name)[lamp] += found
        if self.photons_only:
            return
        tallies.paths[lamp] += card.paths(lamp, tallies.path_count[lamp], more.paths, more.whole, seed)
        if self.rays:
            tallies.direct[lamp] += card.direct(lamp, tallies.direct_count[lamp], more.points, more.whole, seed)


def kernel_seed(seed: int) -> int:
    """Return a seed of any size folded to the 32 bits that the generators take."""
    return (seed ^ (seed >> 32)) & 0xFFFFFFFF
