"""Light that several plane mirrors or panes turn on its way, by images of images.

A chain tells by which plane surfaces light is turned, and on which side of each, from the receiving place on to the
lamp. Its image of the lamp lies at the images of images, so a ray to a point of that, turned at each surface in order,
either gets to the lamp or is stopped on its way. There are endlessly many chains, so one is drawn at a time, turn by
turn: among the sides that can be seen in those before, by how large they are seen and what they bring. The lamp is
looked for at each turn that may show it. A chain ends by chance, the sooner the less light is left.

Paths that run into the lamp find the same light; both are weighted by the balance heuristic, so that none is counted
twice, and what is never drawn is left to paths.

References
----------
J. Allen, D. Berkley, "Image method for efficiently simulating small-room acoustics", J. Acoust. Soc. Am. 65:943, 1979
(images of images). P. Heckbert, P. Hanrahan, "Beam tracing polygonal objects", SIGGRAPH 1984 (windows). E. Veach,
L. Guibas, SIGGRAPH 1995 (the weights).
"""

import numpy as np

from sim.transport.arrays import F64, Model
from sim.transport.jit import helper, routine
from sim.transport.rng import Word, to_unit
from sim.transport.sobol import mix
from sim.transport.triangles import surface_of
from sim.transport.vectors import copy
from sim.transport.windows import NOTHING, ROOM, beam_holds, cut, cut_window, extent

SURFACE, NORMAL, LEVEL, RETURNS, FIRST, WORTH, ALONE, BALL, CORNERS, OUTLINE, OFTEN, FOLLOWS = (
    *(0, 1, 4, 5, 6, 7, 8, 9),
    *(13, 14, 38, 39),
)
"""Columns of a lamp's table of sides: the surface, its unit normal on this side, how far the plane lies along that,
about what share of light it turns, what a chain may bring that begins here, and that goes on here, whether one of this
turn alone is looked for, centre and radius of a ball around the lamp's lit faces, how many corners the side's outline
has, these, how often chains are drawn where all return little, and from FOLLOWS on which sides may come next."""
MOST_CORNERS = 8
MOST_TURNS = 120
ALWAYS = 4
"""Turns up to which the lamp is always looked for where it may be seen; at later ones the less often, the later."""
SELDOM = 0.25
"""How often a chain is drawn at a matt place, or a wire, that a path meets, at most: it takes longer than to go on."""
EVEN = 0.1
"""Part of the chances that is dealt out evenly: lamps may be seen in small windows, too."""
ARRIVAL, PATH_PLACE, PATH_FACING, PLACE, FACING, TURNS = 5, 6, 7, 8, 9, 10
"""Rows of scratch: how a path came to where it is, images of place and normal of its last matt place, the same for a
chain that is drawn, and the sides of that, three to a row. After these come rows for chances of sides, for the window
of a chain that is drawn, for that of a path, and for two outlines."""
CHANCES = TURNS + MOST_TURNS // 3
WINDOW = CHANCES + 11
PATH_WINDOW = WINDOW + ROOM
SPARE = PATH_WINDOW + ROOM
SCRATCH_ROWS = SPARE + 2 * ROOM
NOWHERE = -1


@helper
def has_chains(model: Model) -> bool:
    """Return whether there are surfaces of which chains can be made."""
    return model.mirrors.chain.shape[1] > 0


@helper
def seldom(table: F64) -> float:
    """Return how often a chain is drawn at a matt place, or a wire, that a path meets."""
    return SELDOM * float(table[0, OFTEN])


@helper
def height_over(table: F64, side: int, x: F64) -> float:
    """Return how far a point lies before a side [m]."""
    return float(
        table[side, NORMAL] * x[0]
        + table[side, NORMAL + 1] * x[1]
        + table[side, NORMAL + 2] * x[2]
        - table[side, LEVEL]
    )


@helper
def slope_to(table: F64, side: int, d: F64) -> float:
    """Return how fast a unit vector leads away from a side."""
    return float(table[side, NORMAL] * d[0] + table[side, NORMAL + 1] * d[1] + table[side, NORMAL + 2] * d[2])


@helper
def turn_vector(table: F64, side: int, d: F64) -> None:
    """Turn a vector as a side's plane does."""
    along = slope_to(table, side, d)
    for axis in range(3):
        d[axis] -= 2.0 * along * table[side, NORMAL + axis]


@helper
def _turn_place(table: F64, side: int, place: F64, facing: F64) -> None:
    """Move a place and its normal behind a side's plane."""
    height = height_over(table, side, place)
    for axis in range(3):
        place[axis] -= 2.0 * height * table[side, NORMAL + axis]
    turn_vector(table, side, facing)


@routine
def see(table: F64, last: int, side: int, place: F64, window: F64, count: int, scratch: F64) -> int:
    """Set the first spare outline to what is seen of a side from a place, by a window in the last side if there is one.

    Returns its corners; 0 where nothing is seen.
    """
    outline, spare, corners = scratch[SPARE : SPARE + ROOM], scratch[SPARE + ROOM :], int(table[side, CORNERS])
    if height_over(table, side, place) <= 0.0:
        return 0
    for corner in range(corners):
        for axis in range(3):
            outline[corner, axis] = table[side, OUTLINE + 3 * corner + axis]
    if last == NOWHERE:
        return corners
    # Light that comes out of the last mirror is on its front.
    corners = cut(
        outline,
        corners,
        table[last, NORMAL],
        table[last, NORMAL + 1],
        table[last, NORMAL + 2],
        table[last, LEVEL],
        spare,
    )
    for corner in range(corners):
        copy(spare[corner], outline[corner])
    return cut_window(place, window, count, outline, corners, spare) if corners > 0 else 0


@routine
def _side_chances(table: F64, last: int, place: F64, window: F64, count: int, scratch: F64) -> bool:
    """Set rows of scratch to how likely each side is the next one; return whether any is.

    `last` is the side before or NOWHERE, `place` the image of where the chain began, `window` what is seen of `last`.
    """
    chances, total, sides = scratch[CHANCES:], 0.0, 0
    for side in range(len(table)):
        worth, seen = table[side, FIRST if last == NOWHERE else WORTH], 0.0
        if worth > 0.0 and (last == NOWHERE or table[last, FOLLOWS + side] > 0.0):
            corners = see(table, last, side, place, window, count, scratch)
            if corners > 0:
                seen = extent(place, scratch[SPARE:], corners)
        if seen < NOTHING:
            seen = 0.0
        chances[side // 3, side % 3] = seen
        total += seen
        sides += int(seen > 0.0)
    if sides == 0:
        return False
    even, whole = EVEN * total / sides, 0.0
    for side in range(len(table)):
        seen = chances[side // 3, side % 3]
        if seen > 0.0:
            seen = (seen + even) * table[side, FIRST if last == NOWHERE else WORTH]
        chances[side // 3, side % 3] = seen
        whole += seen
    for side in range(len(table)):
        chances[side // 3, side % 3] /= whole
    return True


@helper
def _pick(chances: F64, sides: int, u: float) -> int:
    """Return a side drawn by its chance."""
    picked = NOWHERE
    for side in range(sides):
        chance = chances[side // 3, side % 3]
        if chance > 0.0:
            picked = side
            if u < chance:
                break
            u -= chance
    return picked


@helper
def _goes_on(table: F64, side: int, turns: int) -> float:
    """Return how likely a chain goes on after so many turns, the last at a side."""
    return 1.0 if turns == 1 and table[side, ALONE] == 0.0 else float(table[side, RETURNS])


@helper
def looks(turns: int) -> float:
    """Return how likely the lamp is looked for at a turn."""
    return min(1.0, ALWAYS / turns)


@helper
def _open(table: F64, side: int, place: F64, window: F64, scratch: F64, last: int, count: int) -> int:
    """Set window to what is seen of a side by the window in the last one; return its corners."""
    corners = see(table, last, side, place, window, count, scratch)
    for corner in range(corners):
        copy(scratch[SPARE + corner], window[corner])
    return corners


@helper
def next_turn(table: F64, turns: int, count: int, chance: float, u: float, scratch: F64) -> tuple[int, float]:
    """Draw the next turn of the chain in scratch; return corners of its window, 0 at the end, and the chance.

    `turns` and `chance` are those so far, `count` the corners of the last window.
    """
    last = int(scratch[TURNS + (turns - 1) // 3, (turns - 1) % 3]) if turns > 0 else NOWHERE
    place, window = scratch[PLACE], scratch[WINDOW : WINDOW + ROOM]
    if turns > 0:
        on = _goes_on(table, last, turns)
        if u >= on:
            return 0, 0.0
        u, chance = u / on, chance * on
    if turns == MOST_TURNS or not _side_chances(table, last, place, window, count, scratch):
        return 0, 0.0
    side = _pick(scratch[CHANCES:], len(table), u)
    chance *= scratch[CHANCES + side // 3, side % 3]
    corners = _open(table, side, place, window, scratch, last, count)
    scratch[TURNS + turns // 3, turns % 3] = side
    _turn_place(table, side, place, scratch[FACING])
    return corners, chance


@helper
def shows_lamp(table: F64, turns: int, count: int, u: float, scratch: F64) -> bool:
    """Return whether the lamp is to be looked for at the last turn of the chain in scratch."""
    side = int(scratch[TURNS + (turns - 1) // 3, (turns - 1) % 3])
    if u >= looks(turns) or (turns == 1 and table[side, ALONE] == 0.0):
        return False
    x, y, z, radius = table[side, BALL], table[side, BALL + 1], table[side, BALL + 2], table[side, BALL + 3]
    return beam_holds(scratch[PLACE], scratch[WINDOW : WINDOW + ROOM], count, x, y, z, radius)


@helper
def chain_numbers(word: Word, turns: int, side: float) -> tuple[float, float]:
    """Return uniform numbers for a turn, and for whether the lamp is looked for there; the first one is given."""
    turn = np.uint64(2 * turns)
    return to_unit(mix(word, turn)) if turns > 0 else side, to_unit(mix(word, turn + np.uint64(1)))


@helper
def begin_chain(scratch: F64, word: Word, often: float) -> bool:
    """Begin a chain at the place and normal in the first rows of scratch, so often; return whether one is begun."""
    copy(scratch[0], scratch[PLACE])
    copy(scratch[1], scratch[FACING])
    return often == 1.0 or to_unit(mix(word, np.uint64(2 * MOST_TURNS))) < often


@routine
def turn_on(
    model: Model,
    lamp: int,
    triangle: int,
    mirrored: bool,
    turns: int,
    scratch: F64,
    side: int,
    corners: int,
    chance: float,
    luck: float,
) -> tuple[int, int, float, float]:
    """Return side, corners of its window, chance and luck of a path's chain with one turn more.

    Parameters
    ----------
    triangle : int
        Where the path was turned.
    mirrored : bool
        Whether it was by a plane surface like a mirror; else the chain cannot be drawn.
    turns : int
        With this one.
    scratch : (SCRATCH_ROWS, 3) float
        Holds how the path came, the images of where the chain began by all turns before, which are moved on, and the
        path's window.
    side, corners, chance, luck : int, int, float, float
        Of the chain so far; NOWHERE and whatever where it cannot be drawn.
    """
    if not mirrored:
        return NOWHERE, 0, 0.0, 0.0
    table, surface, found = model.mirrors.chain[lamp], surface_of(model.surfaces, triangle), NOWHERE
    if turns <= MOST_TURNS and (turns == 1 or side != NOWHERE):
        for other in range(len(table)):
            if table[other, SURFACE] == surface and slope_to(table, other, scratch[ARRIVAL]) < 0.0:
                found = other
    place, window = scratch[PATH_PLACE], scratch[PATH_WINDOW : PATH_WINDOW + ROOM]
    if turns == 1:
        side, chance, luck = NOWHERE, 1.0, 1.0
    else:
        chance *= _goes_on(table, side, turns - 1)
    if found == NOWHERE or not _side_chances(table, side, place, window, corners, scratch):
        return NOWHERE, 0, 0.0, 0.0
    chance *= scratch[CHANCES + found // 3, found % 3]
    if chance == 0.0:
        return NOWHERE, 0, 0.0, 0.0
    corners = _open(table, found, place, window, scratch, side, corners)
    _turn_place(table, found, place, scratch[PATH_FACING])
    return found, corners, chance, luck * table[found, RETURNS]
