"""What may lie between a receiver and a lamp or its image, looked for once for all rays between the two.

The tree is searched for the pieces that touch the hull around both (`sim.transport.hull`), and these are copied into
leaves of their own (`sim.transport.listing`): all rays from the receiver to the lamp are tested against those alone.
Where nothing is between, rays cost nothing. What a ray meets is decided as in `sim.transport.tree_traverse`: single
precision sifts, and double precision looks at what it cannot rule out. An opaque piece ends a ray as soon as it is
surely hit; the others dim it.

Where there are too many pieces, or where surfaces lie in one plane so that it matters which of them is met first, rays
walk through the tree.
"""

from typing import NamedTuple

import numpy as np

from sim.transport.arrays import F64, I64, Model, Stack, Tree
from sim.transport.hull import Hull, new_hull
from sim.transport.jit import helper, maker, variable
from sim.transport.shadow import SHORT, clear, pass_straight, reflect, through_mirror
from sim.transport.tree_lanes import (
    CLEARS,
    COLUMNS,
    FIRST,
    LIMIT,
    ORIGIN,
    OWN,
    PIECE,
    ROW,
    TOWARDS,
    first_of,
    test_leaf,
)
from sim.transport.tree_traverse import FOUR_ROUNDINGS, MISS, TIE, look_at
from sim.transport.vectors import copy

LEAVES = 4
"""Leaves of a list at most; beyond so many, rays are done sooner by walking."""
WALK = -1
"""What is found for a list that is not to be had."""
_ROOM = 1024


class Between(NamedTuple):
    """Lists of pieces: for straight light, then for each mirror to it from the receiver, and from it to the lamp.

    ``tree``: leaves of their own, LEAVES to a list. ``found`` (lists,): pieces in each, or WALK. ``dims`` (rows,): 1
    for a piece that lets light through straight; a row is one of ``tree.piece``. ``lets`` (s,): the same of each
    surface, for the lamp. ``mirror`` (lists,): a triangle of the mirror that all rays of a list meet. ``behind`` (p,):
    1 for pieces of the scene that lie behind all of the lamp's lit faces, 2 for others, 0 where that is not known.
    ``visit``: nodes to be looked at. ``hull`` is scratch, and so are ``place`` (5, 3), ``image`` (5, 3), ``axis`` (3,).
    """

    tree: Tree
    hull: Hull
    found: I64
    dims: I64
    lets: I64
    mirror: I64
    behind: I64
    visit: I64
    place: F64
    image: F64
    axis: F64


@maker
def new_between(tree: Tree, mirrors: int, surfaces: int) -> Between:
    """Return lists of nothing yet."""
    lists = 1 + 2 * mirrors
    leaves = lists * LEAVES
    block = np.zeros((leaves, COLUMNS + 1, ROW), dtype=np.float32)
    piece = np.zeros((leaves * ROW, PIECE))
    own = Tree(
        tree.bounds,
        tree.child,
        tree.orders,
        block,
        block.view(np.int32),
        piece,
        piece.view(np.int32),
        tree.place,
        tree.frame,
    )
    return Between(
        own,
        new_hull(),
        np.zeros(lists, dtype=np.int64),
        np.zeros(leaves * ROW, dtype=np.int64),
        np.zeros(surfaces, dtype=np.int64),
        np.zeros(lists, dtype=np.int64),
        np.zeros(len(tree.piece), dtype=np.int64),
        np.zeros(_ROOM, dtype=np.int64),
        np.zeros((5, 3)),
        np.zeros((5, 3)),
        np.zeros(3),
    )


@helper
def height_along(normal: F64, point: F64) -> float:
    """Return how far a point lies along a unit vector."""
    return float(normal[0] * point[0] + normal[1] * point[1] + normal[2] * point[2])


@helper
def _set_out(tree: Tree, o: F64, d: F64, far: float, pad: np.float32, walk: Stack) -> None:
    """Keep of a ray what the test of a leaf needs."""
    for axis in range(3):
        walk.ray[ORIGIN + axis] = np.float32(o[axis] - tree.frame[axis])
        walk.ray[TOWARDS + axis] = np.float32(d[axis])
    walk.ray[LIMIT] = np.float32(far) + pad
    walk.state[OWN] = MISS


@helper
def _passes(
    model: Model, lamp: int, between: Between, which: int, o: F64, d: F64, far: float, weights: F64, walk: Stack
) -> bool:
    """Return whether light gets through what is in a list over a distance [m]; weights take what dims it."""
    count = between.found[which]
    if count == 0:
        return True
    tree, state = between.tree, walk.state
    pad = np.float32(TIE + FOUR_ROUNDINGS * tree.frame[6])
    least = np.float32(far) - pad
    _set_out(tree, o, d, far, pad, walk)
    for leaf in range(which * LEAVES, which * LEAVES + (count + ROW - 1) // ROW):
        may = test_leaf(tree, leaf, walk)
        clears, first = state[CLEARS], state[FIRST]
        while may != 0:
            lane = first_of(may)
            may &= may - 1
            row = first + lane
            dims = between.dims[row] != 0
            if not dims and clears >> lane & 1 and walk.low[lane] > pad and walk.high[lane] < least:
                return False
            _, triangle = look_at(tree, row, o, d, far, variable(MISS))
            if triangle == MISS:
                continue
            if not dims or not pass_straight(model, lamp, triangle, d, weights):
                return False
    return True


@helper
def reaches(
    model: Model,
    lamp: int,
    between: Between,
    way: int,
    x: F64,
    o: F64,
    d: F64,
    distance: float,
    weights: F64,
    walk: Stack,
) -> bool:
    """Return whether light gets from the receiver at x to a lamp, or by way 1 + mirror to its image.

    The target lies `distance` [m] along d. o and d are scratch, weights take what is met on the way.
    """
    copy(x, o)
    first, legs, leg = 0, 1, distance - SHORT
    if way > 0:
        first, legs = 2 * way - 1, 2
    if between.found[first] == WALK or between.found[first + legs - 1] == WALK:
        if way == 0:
            return clear(model, lamp, o, d, distance, weights, walk)
        return through_mirror(model, lamp, way - 1, o, d, distance, weights, walk)
    if way > 0:
        normal, point = model.mirrors.normal[way - 1], model.mirrors.point[way - 1]
        leg = (height_along(normal, point) - height_along(normal, o)) / height_along(normal, d)
    for turn in range(legs):
        if not _passes(model, lamp, between, first + turn, o, d, leg, weights, walk):
            return False
        if turn + 1 < legs:
            for axis in range(3):
                o[axis] += leg * d[axis]
            leg = distance - SHORT - leg
            reflect(model, lamp, between.mirror[first], d, weights)
    return True
