"""How light gets from a place to a lamp on the card: one loop for all legs of the way and all that lies on each.

The compiler copies the walk through the tree to wherever it is called, and takes the longer for each copy; a processor
has it once. So there is one call here for what `sim.transport.shadow` and `sim.transport.chain_light` do in several.
"""

from sim.transport import chain_light, chains, lit_surface, shadow, tree_traverse, triangles
from sim.transport.arrays import F64, Model
from sim.transport.chains import NOWHERE, SURFACE, TURNS
from sim.transport.gpu.memory import stay_apart
from sim.transport.gpu.target import card_helper, card_routine, for_card, stands_in_for
from sim.transport.gpu.traverse import CardStack
from sim.transport.shadow import ON_MIRROR, SHORT
from sim.transport.tree_traverse import MISS

next_hit = for_card(tree_traverse.next_hit)
pass_straight, reflect = for_card(shadow.pass_straight), for_card(shadow.reflect)
surface_of = for_card(triangles.surface_of)
height_over, slope_to, see = for_card(chains.height_over), for_card(chains.slope_to), for_card(chains.see)


@card_helper
def _move(o: F64, d: F64, t: float) -> None:
    for axis in range(3):
        o[axis] += t * d[axis]


@card_helper
def _to_mirror(model: Model, mirror: int, o: F64, d: F64) -> float:
    """Return how far a plane mirror is along a ray [m]."""
    place, across = model.mirrors.point[mirror], model.mirrors.normal[mirror]
    height, slope = 0.0, 0.0
    for axis in range(3):
        height += (place[axis] - o[axis]) * across[axis]
        slope += d[axis] * across[axis]
    return height / slope


@card_helper
def _to_side(table: F64, side: int, o: F64, d: F64, distance: float) -> float:
    """Return how far a chain's side is along a ray [m], or less than nothing if it is not met within a distance."""
    height, slope = height_over(table, side, o), slope_to(table, side, d)
    if height <= 0.0 or height + slope * distance >= 0.0:
        return -1.0
    return -height / slope


@card_helper
def card_legs(
    model: Model,
    lamp: int,
    mirror: int,
    turns: int,
    o: F64,
    d: F64,
    distance: float,
    weights: F64,
    scratch: F64,
    stack: CardStack,
) -> bool:
    """Return whether light gets from o along d by some turns to a point whose image lies at a distance [m].

    The one turn is at a plane mirror or, if `mirror` is NOWHERE, turns are those of the chain in scratch. o and d move
    along, weights take what is met on the way.
    """
    table = model.mirrors.chain[lamp]
    for turn in range(turns + 1):
        last, leg, surface, triangle = turn == turns, distance, NOWHERE, MISS
        if not last and mirror != NOWHERE:
            leg, surface = _to_mirror(model, mirror, o, d), model.mirrors.surface[mirror]
        elif not last:
            side = int(scratch[TURNS + turn // 3, turn % 3])
            leg, surface = _to_side(table, side, o, d, distance), int(table[side, SURFACE])
            if leg < 0.0:
                return False
        rest = leg
        while True:
            t, triangle = next_hit(model.tree, o, d, rest - SHORT if last else rest + ON_MIRROR, stack, triangle)
            if triangle == MISS:
                return last
            if not last and surface_of(model.surfaces, triangle) == surface:
                break
            if not pass_straight(model, lamp, triangle, d, weights):
                return False
            _move(o, d, t)
            rest -= t
        _move(o, d, t)
        reflect(model, lamp, triangle, d, weights)
        distance -= leg
    return True


@stands_in_for(lit_surface.arrives)
def card_arrives(
    model: Model,
    lamp: int,
    way: int,
    mirror: int,
    o: F64,
    d: F64,
    distance: float,
    weights: F64,
    scratch: F64,
    stack: CardStack,
) -> bool:
    """Return what `sim.transport.lit_surface.arrives` does."""
    return bool(card_legs(model, lamp, mirror, way, o, d, distance, weights, scratch, stack))


@stands_in_for(chain_light.follow)
def card_follow(
    model: Model,
    lamp: int,
    turns: int,
    distance: float,
    o: F64,
    d: F64,
    weights: F64,
    scratch: F64,
    stack: CardStack,
) -> bool:
    """Return what `sim.transport.chain_light.follow` does."""
    return bool(card_legs(model, lamp, NOWHERE, turns, o, d, distance, weights, scratch, stack))


@stands_in_for(chains.see, card_routine)
def card_see(table: F64, last: int, side: int, place: F64, window: F64, count: int, scratch: F64) -> int:
    """Do what `sim.transport.chains.see` does, apart: it would make up a third of the kernel for paths."""
    stay_apart()
    return int(see(table, last, side, place, window, count, scratch))
