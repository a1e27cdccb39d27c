"""How the card looks at a lamp: without what the processor makes beforehand for all rays of a receiver.

Threads work on a few points each, so that lists, guides and blocks of points would be read more slowly than what they
spare is done.
"""

from sim.transport import between, chains, direct, pieces, sobol, vectors
from sim.transport.arrays import F64, Emitters, Model
from sim.transport.gpu.legs import card_legs
from sim.transport.gpu.target import for_card, stands_in_for
from sim.transport.gpu.traverse import CardStack
from sim.transport.rng import Word

sample_piece, scrambled, copy = for_card(pieces.sample_piece), for_card(sobol.scrambled), for_card(vectors.copy)


@stands_in_for(direct.numbers)
def card_numbers(points: int, way: int, point: int, key: Word) -> tuple[float, float, float, float, float]:
    """Return what `sim.transport.direct.numbers` does; there are no points to take them from."""
    return (
        scrambled(point, 0, key),
        scrambled(point, 1, key),
        scrambled(point, 2, key),
        scrambled(point, 3, key),
        scrambled(point, 4, key),
    )


@stands_in_for(pieces.draw_piece)
def card_piece(
    emitters: Emitters, lamp: int, shares: F64, way: int, u0: float, u1: float, u2: float, point: F64
) -> tuple[int, float]:
    """Do what `sim.transport.pieces.draw_piece` does, by shares (ways, p) alone."""
    found: tuple[int, float] = sample_piece(emitters, lamp, shares[way], u0, u1, u2, point)
    return found


@stands_in_for(between.reaches)
def card_reaches(
    model: Model,
    lamp: int,
    lists: int,
    way: int,
    x: F64,
    o: F64,
    d: F64,
    distance: float,
    weights: F64,
    stack: CardStack,
) -> bool:
    """Return what `sim.transport.between.reaches` does, by walks through the tree."""
    copy(x, o)
    # There is no chain, so any array serves as its scratch.
    turns, scratch = min(way, 1), model.mirrors.normal
    return bool(card_legs(model, lamp, max(way - 1, 0), turns, o, d, distance, weights, scratch, stack))


look, look_by_chains, has_chains = (
    for_card(function) for function in (direct.look, direct.look_by_chains, chains.has_chains)
)
