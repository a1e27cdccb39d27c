"""A scene on a card: its arrays are sent once, sums come back after each step."""

from typing import Any

import numpy as np
import numpy.typing as npt

from sim.transport.arrays import BOOL, F64, I64, Model, Tree
from sim.transport.gpu.fixed_point import as_floats, scale_of
from sim.transport.gpu.kernels import direct_kernel, hits_kernel, path_kernel, photon_kernel, sum_kernel, weigh_kernel
from sim.transport.gpu.target import SIMULATED, cuda
from sim.transport.gpu.tree import card_tree
from sim.transport.photons import Sums

MOST_PHOTONS = 65_536
"""Photons of each replicate in one start of a kernel."""
BLOCK = 4 if SIMULATED else 128
PHOTON_BLOCK = 4 if SIMULATED else 320
"""Threads in a block of photons of more bands than the least room has. A part of the card holds one such block, or more
threads in smaller ones, whose scratch would not stay in its inner cache."""
PIECES = 4096
"""Pieces into which the points or paths of a step are cut, or a little more: each is summed by one thread, in order."""
LEAST_PIECE = 8
PART_BYTES = 2**28
_ROOMS = (8, 64, 512, 4096)
RAYS_ROOM = 64
"""Least room for bands of what looks at lamps and follows paths: room that is not used costs nothing, but one kernel
more, which a run would need for the readings of lamps, in one band, takes half a minute to compile."""


def on_card(value: Any) -> Any:  # noqa: ANN401  # tuples of tuples of arrays
    """Return arrays, or tuples of them, as the same on the card."""
    if isinstance(value, np.ndarray):
        return cuda.to_device(np.ascontiguousarray(value))
    return type(value)(*(on_card(part) for part in value))


def launch(kernel: Any, threads: int, *arguments: Any, block: int = BLOCK) -> None:  # noqa: ANN401  # what kernels take
    """Start a kernel with at least a count of threads, so many in a block."""
    if threads:
        kernel[-(-threads // block), block](*arguments)


def card_hits(tree: Tree, origins: F64, directions: F64, leaving: I64) -> tuple[F64, I64]:
    """Return distance and triangle of the first hit of many rays, as `sim.transport.tree_traverse.next_hits` fills."""
    distance, triangle = np.full(len(origins), np.nan), np.full(len(origins), -2)
    there = cuda.to_device(distance), cuda.to_device(triangle)
    rays = [on_card(part) for part in (origins.T, directions.T, leaving)]
    launch(hits_kernel, len(origins), *on_card(card_tree(tree)), *rays, *there)
    return there[0].copy_to_host(), there[1].copy_to_host()


class Card:
    """A scene on the card.

    Parameters
    ----------
    model : Model
    replicates, gathered : int
        How many replicates, and how many of the model's receivers are no cells of surfaces.
    """

    def __init__(self, model: Model, replicates: int, gathered: int) -> None:
        self._replicates, self._bands = replicates, model.emitters.live.shape[1]
        self._laws, self._mirrors = model.laws, len(model.mirrors.surface)
        self._pieces = np.diff(model.emitters.piece_first)
        self._shapes = len(model.surfaces.shared), gathered, len(model.surfaces.law)
        self._model = on_card(model._replace(tree=card_tree(model.tree)))  # type: ignore[arg-type]  # walked there alone
        self._room = next(room for room in _ROOMS if room >= self._bands)
        self._rays_room = max(RAYS_ROOM, self._room)

    def photons(self, lamp: int, first: int, count: int, seed: int) -> Sums:
        """Return what `sim.transport.photons.trace_photons` adds up, in arrays with a first row for each replicate."""
        sizes = *((count,) for count in self._shapes), (), (), self._shapes[2:]
        found = [np.zeros((self._replicates, *size, self._bands)) for size in sizes]
        scale = scale_of(self._laws, min(count, MOST_PHOTONS)) if count else 1.0
        for start in range(first, first + count, MOST_PHOTONS):
            sums = [cuda.to_device(np.zeros(part.shape, dtype=np.int64)) for part in found]
            self._start_photons(lamp, start, min(MOST_PHOTONS, first + count - start), seed, scale, sums)
            for part, there in zip(found, sums, strict=True):
                part += as_floats(there.copy_to_host(), scale)
        return Sums(*found)

    def _start_photons(self, lamp: int, first: int, count: int, seed: int, scale: float, sums: list[Any]) -> None:
        threads = count * self._replicates
        kernel, block = photon_kernel(self._room), BLOCK if self._room == _ROOMS[0] else PHOTON_BLOCK
        launch(kernel, threads, self._model, lamp, first, count, seed, scale, *sums, block=block)

    def photon_seconds(self, lamp: int, count: int, seed: int) -> float:
        """Return how long the card itself follows photons of all replicates, without what is sent and fetched."""
        shapes: tuple[tuple[int, ...], ...] = (
            *((size, self._bands) for size in self._shapes),
            (self._bands,),
            (self._bands,),
        )
        shapes += ((self._shapes[2], self._bands),)
        sums = [cuda.to_device(np.zeros((self._replicates, *shape), dtype=np.int64)) for shape in shapes]
        cuda.synchronize()
        started, ended = cuda.event(), cuda.event()
        started.record()
        self._start_photons(lamp, 0, count, seed, scale_of(self._laws, count), sums)
        ended.record()
        ended.synchronize()
        return float(started.elapsed_time(ended)) / 1e3

    def direct(self, lamp: int, first: I64, count: I64, whole: BOOL, seed: int) -> F64:
        """Return what `sim.transport.direct.gather_direct` adds up for all replicates, (r, q, b)."""
        ways, pieces = 1 + self._mirrors, int(self._pieces[lamp])
        shares = cuda.to_device(np.zeros((len(first), ways, max(1, pieces))))
        seen = cuda.to_device(np.ones((len(first), ways)))
        if pieces:
            launch(weigh_kernel, len(first), self._model, lamp, cuda.to_device(count), shares, seen)
        return self._gathered(
            direct_kernel(self._rays_room), lamp, first, count, (cuda.to_device(whole), seed, shares, seen)
        )

    def paths(self, lamp: int, first: I64, count: I64, whole: BOOL, seed: int) -> F64:
        """Return what `sim.transport.paths.gather_paths` adds up for all replicates, (r, q, b)."""
        return self._gathered(path_kernel(self._rays_room), lamp, first, count, (cuda.to_device(whole), seed))

    def _gathered(self, kernel: Any, lamp: int, first: I64, count: I64, more: tuple[Any, ...]) -> F64:  # noqa: ANN401
        total = cuda.to_device(np.zeros((self._replicates, len(first), self._bands)))
        pieces = cut(first, count)
        most = max(1, PART_BYTES // (8 * self._replicates * self._bands))
        for start in range(0, len(pieces), most):
            now = pieces[start : start + most]
            parts = cuda.to_device(np.zeros((len(now), self._replicates, self._bands)))
            launch(kernel, len(now) * self._replicates, self._model, lamp, cuda.to_device(now), *more, parts)
            starts = np.searchsorted(now[:, 0], np.arange(len(first) + 1))
            launch(sum_kernel, total.size, cuda.to_device(starts), parts, total)
        found: F64 = total.copy_to_host()
        return found


def cut(first: I64, count: I64) -> npt.NDArray[np.int64]:
    """Return the points or paths of all receivers in pieces of one size: receiver, first, and one past the last."""
    size = max(LEAST_PIECE, -(-int(count.sum()) // PIECES))
    pieces = -(-count // size)
    receiver = np.repeat(np.arange(len(count)), pieces)
    number = np.arange(len(receiver)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    start = number * size
    return np.stack(
        [receiver, first[receiver] + start, (first + count)[receiver].clip(max=first[receiver] + start + size)], axis=1
    )
