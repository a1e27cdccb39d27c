"""What a card is started with: one thread follows one photon, or a few points or paths of one receiver.

Threads next to each other belong to different replicates: those add to different places, and share what they read of
Sobol's numbers. Points and paths are summed in a fixed order, photons in whole numbers, so each run repeats bit by bit.
"""

from collections.abc import Callable
from functools import cache, partial
from typing import Any

import numpy as np

from sim.transport import direct, emission, paths, photons, scatter, sobol
from sim.transport.arrays import BOOL, F32, F64, I32, I64, Model
from sim.transport.chains import SCRATCH_ROWS
from sim.transport.gpu.fixed_point import Tally
from sim.transport.gpu.look import has_chains, look, look_by_chains
from sim.transport.gpu.memory import scratch
from sim.transport.gpu.target import card_kernel, cuda, for_card, with_names
from sim.transport.gpu.traverse import card_hit, card_stack
from sim.transport.gpu.tree import CardTree
from sim.transport.photons import Photon, Sums

emit, numbers_of, history = for_card(emission.emit), for_card(scatter.numbers_of), for_card(photons.history)
weigh_ways, path_at = for_card(direct.weigh_ways), for_card(paths.path_at)
stream_of, scramble_key, mix = for_card(emission.stream_of), for_card(emission.scramble_key), for_card(sobol.mix)
HITS_REGISTERS = 64
"""So that a thousand rays are under way in each part of the card at a time; the compiler likes a few more."""
EMISSION, DIRECT, PATH = photons.EMISSION, direct.DIRECT, paths.PATH
AHEAD = photons.AHEAD


three, path_rows = scratch("float64", 3), scratch("float64", SCRATCH_ROWS, 3)
four_by_three, five_by_three = scratch("float64", 4, 3), scratch("float64", 5, 3)
bands_of = scratch("float64", 1)
"""Takes another's place, with room for the bands of a scene."""


@partial(card_kernel, registers=HITS_REGISTERS)
def hits_kernel(
    nodes: I32,
    leaves: F32,
    grid: F32,
    piece: F64,
    place: I32,
    frame: F64,
    origins: F64,
    directions: F64,
    leaving: I64,
    distance: F64,
    triangle: I64,
) -> None:
    """Do what `sim.transport.tree_traverse.next_hits` does; rays are columns, (3, rays).

    It takes the tree's arrays one by one: numba would look into a tuple for as long as half a million hits may take.
    """
    # Without a sign it is not looked at for being counted from the end.
    row = np.uint32(cuda.grid(1))
    if row >= np.uint32(len(distance)):
        return
    tree = CardTree(nodes, leaves, grid, piece, place, frame)
    o, d = three(), three()
    for axis in range(3):
        o[axis], d[axis] = origins[axis, row], directions[axis, row]
    distance[row], triangle[row] = card_hit(tree, o, d, np.inf, card_stack(), leaving[row])


@card_kernel
def weigh_kernel(model: Model, lamp: int, count: I64, shares: F64, seen: F64) -> None:
    """Fill `shares` (q, 1 + mirrors, pieces) and `seen` (q, 1 + mirrors) of `sim.transport.direct.look`."""
    receiver = cuda.grid(1)
    if receiver < len(count) and count[receiver] > 0:
        weigh_ways(model, lamp, receiver, five_by_three(), five_by_three(), shares[receiver], seen[receiver])


@card_kernel
def sum_kernel(starts: I64, parts: F64, total: F64) -> None:
    """Add parts (pieces, r, b) to the totals (r, q, b) of the receivers whose pieces they are, in order.

    ``starts`` (q + 1,): first piece of each receiver.
    """
    place = cuda.grid(1)
    replicates, receivers, bands = total.shape
    if place >= replicates * receivers * bands:
        return
    band, replicate, receiver = place % bands, place // bands % replicates, place // (bands * replicates)
    value = total[replicate, receiver, band]
    for piece in range(starts[receiver], starts[receiver + 1]):
        value += parts[piece, replicate, band]
    total[replicate, receiver, band] = value


def _photons(
    model: Model,
    lamp: int,
    first: int,
    count: int,
    seed: int,
    scale: float,
    cells: I64,
    crossed: I64,
    absorbed: I64,
    escaped: I64,
    unfinished: I64,
    straight: I64,
) -> None:
    """Follow one photon, as `sim.transport.photons.trace_photons` does."""
    thread = cuda.grid(1)
    replicates, bands = escaped.shape
    if thread >= count * replicates:
        return
    replicate, index = thread % replicates, first + thread // replicates
    stream = stream_of(replicate, lamp)
    key = scramble_key(seed, stream, EMISSION)
    photon = Photon(three(), three(), bands_of()[:bands], bands_of()[:bands], card_stack())
    sums = Sums(
        Tally(cells[replicate], scale),
        Tally(crossed[replicate], scale),
        Tally(absorbed[replicate], scale),
        Tally(escaped[replicate], scale),
        Tally(unfinished[replicate], scale),
        Tally(straight[replicate], scale),
    )
    meets = AHEAD, emit(model.emitters, lamp, index, key, photon.o, photon.d), numbers_of(index, 0, seed, stream)
    history(model, lamp, (index, seed, stream), meets, photon, sums)


def _direct(model: Model, lamp: int, pieces: I64, whole: BOOL, seed: int, shares: F64, seen: F64, parts: F64) -> None:
    """Look at a piece of a receiver's points, as `sim.transport.direct.gather_direct` does."""
    thread = cuda.grid(1)
    count, replicates, bands = parts.shape
    if thread >= count * replicates:
        return
    replicate, piece = thread % replicates, thread // replicates
    receiver, first, last = pieces[piece, 0], pieces[piece, 1], pieces[piece, 2]
    key = mix(scramble_key(seed, stream_of(replicate, lamp), DIRECT), np.uint64(receiver))
    look(
        model,
        lamp,
        receiver,
        shares[receiver],
        seen[receiver],
        0,
        0,
        key,
        first,
        last - first,
        whole[receiver],
        four_by_three(),
        bands_of()[:bands],
        card_stack(),
        parts[piece, replicate],
    )
    if whole[receiver] and has_chains(model):
        look_by_chains(
            model,
            lamp,
            receiver,
            0,
            0,
            key,
            first,
            last - first,
            path_rows(),
            bands_of()[:bands],
            bands_of()[:bands],
            card_stack(),
            parts[piece, replicate],
        )


def _paths(model: Model, lamp: int, pieces: I64, whole: BOOL, seed: int, parts: F64) -> None:
    """Follow a piece of a receiver's paths, as `sim.transport.paths.gather_paths` does."""
    thread = cuda.grid(1)
    count, replicates, bands = parts.shape
    if thread >= count * replicates:
        return
    replicate, piece = thread % replicates, thread // replicates
    receiver, stream = pieces[piece, 0], stream_of(replicate, lamp)
    key, all_light = mix(scramble_key(seed, stream, PATH), np.uint64(receiver)), whole[receiver]
    o, d, scratch = three(), three(), path_rows()
    weights, seen, sent = bands_of()[:bands], bands_of()[:bands], bands_of()[:bands]
    stack, total = card_stack(), parts[piece, replicate]
    for index in range(pieces[piece, 1], pieces[piece, 2]):
        path_at(
            model,
            lamp,
            receiver,
            index,
            key,
            all_light,
            seed,
            stream,
            o,
            d,
            weights,
            scratch,
            seen,
            sent,
            stack,
            total,
        )


def _with_room(function: Callable[..., None], room: int) -> Any:  # noqa: ANN401  # numba's launcher has no type of its own
    """Return a kernel with scratch for up to `room` bands."""
    return card_kernel(with_names(function, f"_{room}", bands_of=scratch("float64", room)))


@cache
def photon_kernel(room: int) -> Any:  # noqa: ANN401
    """Return what follows photons, with scratch for up to `room` bands."""
    return _with_room(_photons, room)


@cache
def direct_kernel(room: int) -> Any:  # noqa: ANN401
    """Return what looks at points of a lamp, with scratch for up to `room` bands."""
    return _with_room(_direct, room)


@cache
def path_kernel(room: int) -> Any:  # noqa: ANN401
    """Return what follows paths, with scratch for up to `room` bands."""
    return _with_room(_paths, room)
