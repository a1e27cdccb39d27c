"""Closest hit on the card; it decides as `sim.transport.tree_traverse` does, and so gives the same answers."""

from typing import NamedTuple

import numpy as np

from sim.transport import tree_traverse
from sim.transport.arrays import F64, I32
from sim.transport.gpu.memory import (
    bits_of,
    float_of,
    four_floats,
    four_integers,
    group_here,
    ones,
    permute_bytes,
    scratch,
    store_two,
    two_integers,
    vote,
)
from sim.transport.gpu.rays import HIGH, LOW, CardRay, Line, begin, card_ray
from sim.transport.gpu.sift import NONE, ZERO, Sure, decide, nothing_yet, settle, sift_large, test_piece
from sim.transport.gpu.target import card_helper, stands_in_for
from sim.transport.gpu.tree import DONE, MOST_LARGE, NODE_ROW, CardTree
from sim.transport.tree_traverse import MISS

DEPTH = 3 * 92
"""References that may wait: splits by area end at sixty levels, halving the rest adds thirty at most, and a node leaves
three behind, of one level or more."""
BOTTOM = np.int32(DONE)
UNDECIDED = 16
"""Pieces that may wait for double precision."""
OFFSET = np.int32(0x47000000)
"""In single precision 2^15, and 2^15 + n with the two bytes of n in its middle."""
OTHER = np.int32(LOW ^ HIGH)
"""What makes LOW of HIGH, and the other way round."""
LANE = np.int32(3)
RESUMED = np.int32(-2)
"""Stands for the piece that a ray leaves once double precision has found hits before the end of the walk."""
FAR, FOUND = 0, 1
NO_KEY = np.int32(2**31 - 1)


class CardStack(NamedTuple):
    """Scratch of one walk.

    ``waiting`` (2 * DEPTH,): references still to be visited, each with the distance to its box as `open_four` tells it.
    ``undecided`` (UNDECIDED + MOST_LARGE,): pieces that double precision is to decide on.
    ``kept`` (2,): distance and triangle of the nearest hit so far.
    """

    waiting: I32
    undecided: I32
    kept: F64


_waiting, _undecided = scratch("int32", 2 * DEPTH), scratch("int32", UNDECIDED + MOST_LARGE)
_kept = scratch("float64", 2)


@card_helper
def card_stack() -> CardStack:
    """Return scratch for one walk after the other."""
    return CardStack(_waiting(), _undecided(), _kept())


@card_helper
def _plane(word: np.int32, pick: np.int32, a: np.float32, b: np.float32) -> np.int32:
    """Return the distance to one of the two planes in a word of a node, as its bits."""
    return bits_of(float_of(permute_bytes(word, OFFSET, pick)) * a + b)


@card_helper
def _key(ray: CardRay, x: np.int32, y: np.int32, z: np.int32, lane: np.int32, most: np.int32) -> np.int32:
    """Return the distance to a box with its lane in the last two bits, NO_KEY where a ray does not enter it.

    Distances that are not negative are in the order of their bits, and those of all others are negative. The card finds
    the largest of three integers in one step, not so of numbers.
    """
    near = max(max(_plane(x, ray.nearx, ray.ax, ray.bx), _plane(y, ray.neary, ray.ay, ray.by)), ZERO)
    near = max(near, _plane(z, ray.nearz, ray.az, ray.bz))
    far = min(min(_plane(x, ray.nearx ^ OTHER, ray.ax, ray.bx), _plane(y, ray.neary ^ OTHER, ray.ay, ray.by)), most)
    far = min(far, _plane(z, ray.nearz ^ OTHER, ray.az, ray.bz))
    return np.int32(near & ~LANE | lane) if near <= far else NO_KEY


@card_helper
def open_four(
    tree: CardTree, node: np.int32, ray: CardRay, limit: np.float32, stack: CardStack, top: np.int32
) -> tuple[np.int32, np.int32]:
    """Return the new top of the stack and the nearest child of a node that a ray enters; the stack gets the others.

    They go there as they lie in the node: to sort them costs more than it spares. If there is none, what lies
    uppermost on the stack is returned.
    """
    at = node * NODE_ROW
    x0, x1, x2, x3 = four_integers(tree.nodes, at)
    y0, y1, y2, y3 = four_integers(tree.nodes, at + 4)
    z0, z1, z2, z3 = four_integers(tree.nodes, at + 8)
    a, b, c, d = four_integers(tree.nodes, at + 12)
    most = bits_of(limit)
    first, second = _key(ray, x0, y0, z0, np.int32(0), most), _key(ray, x1, y1, z1, np.int32(1), most)
    third, fourth = _key(ray, x2, y2, z2, np.int32(2), most), _key(ray, x3, y3, z3, np.int32(3), most)
    nearest = min(min(first, second), min(third, fourth))
    top = _put(stack, top, a, first, nearest)
    top = _put(stack, top, b, second, nearest)
    top = _put(stack, top, c, third, nearest)
    top = _put(stack, top, d, fourth, nearest)
    if nearest == NO_KEY:
        return follow(stack, top, limit)
    low, high = (b, d) if nearest & 1 else (a, c)
    return top, high if nearest & 2 else low


@card_helper
def _put(stack: CardStack, top: np.int32, child: np.int32, key: np.int32, nearest: np.int32) -> np.int32:
    """Return the new top of the stack after putting a child there, unless it is not entered or the nearest."""
    if key == nearest or key == NO_KEY:  # noqa: PLR1714  # the card's compiler knows no sets
        return top
    store_two(stack.waiting, top, child, key)
    return np.int32(top + 2)


@card_helper
def follow(stack: CardStack, top: np.int32, limit: np.float32) -> tuple[np.int32, np.int32]:
    """Return the stack's new top and the reference there, the uppermost that lies within a limit."""
    most = bits_of(limit)
    top = np.int32(top - 2)
    reference, key = two_integers(stack.waiting, top)
    while key > most:
        top = np.int32(top - 2)
        reference, key = two_integers(stack.waiting, top)
    return top, reference


@card_helper
def _walk(
    tree: CardTree, ray: CardRay, group: int, stack: CardStack, top: np.int32, reference: np.int32, sure: Sure
) -> tuple[np.int32, np.int32, Sure]:
    """Return top of stack, reference and what is known where a walk is at its end or leaves too many pieces undecided.

    Threads that share an instruction all open a node or all look at a piece, whichever more of them want.
    """
    while True:
        goes_on = reference != BOTTOM and sure.unsure < UNDECIDED
        opens, looks = goes_on and reference >= 0, goes_on and reference < 0
        openers, lookers = vote(group, opens), vote(group, looks)
        if openers | lookers == 0:
            return top, reference, sure
        if ones(openers) > ones(lookers):
            if opens:
                top, reference = open_four(tree, reference, ray, sure.limit, stack, top)
        elif looks:
            row = np.int32(~reference)
            sure = settle(row, test_piece(tree, row, ray, sure.rounding), stack.undecided, sure)
            top, reference = follow(stack, top, sure.limit)


@stands_in_for(tree_traverse.next_hit)
@stands_in_for(tree_traverse.closest_hit)
def card_hit(tree: CardTree, o: F64, d: F64, far: float, stack: CardStack, leaving: int) -> tuple[float, int]:
    """Return what `sim.transport.tree_traverse.closest_hit` does, with its parameters."""
    line, kept = Line(o[0], o[1], o[2], d[0], d[1], d[2]), stack.kept
    shift = begin(tree.frame, line)
    if shift >= far:
        return far, MISS
    ray, group = card_ray(tree, line, shift), group_here()
    _, _, many, root = four_floats(tree.grid, 4)
    large, reference = bits_of(many), bits_of(root)
    sure = nothing_yet(tree, far, shift, tree.place[leaving] if leaving >= 0 else NONE)
    sure = sift_large(tree, large, ray, stack.undecided, sure)
    if reference != BOTTOM:
        store_two(stack.waiting, ZERO, BOTTOM, NONE)
    top = np.int32(2)
    while True:
        top, reference, sure = _walk(tree, ray, group, stack, top, reference, sure)
        # What is seldom needed waits in memory, so that the rest has more registers.
        nearest, found = (kept[FAR], np.int32(kept[FOUND])) if sure.skipped == RESUMED else (far, NONE)
        nearest, found = decide(tree, line, stack.undecided, sure, nearest, found)
        if vote(group, reference != BOTTOM) == 0:
            return nearest, int(found)
        kept[FAR], kept[FOUND], shift = nearest, found, begin(tree.frame, line)
        ray, sure = card_ray(tree, line, shift), nothing_yet(tree, nearest, shift, RESUMED)
