"""Filling the lists of what lies between a receiver and a lamp, see `sim.transport.between`."""

import numpy as np

from sim.transport.arrays import F64, I64, Emitters, Model, Tree
from sim.transport.between import LEAVES, WALK, Between, height_along
from sim.transport.hull import BEFORE, FACING, MARGIN, enclose, misses_box, misses_piece, set_lamp
from sim.transport.jit import helper, routine
from sim.transport.pieces import mirror_place, place_receiver
from sim.transport.tree_lanes import ABOUT, CHILD, COLUMNS, EDGES, NAMES, OFF, PAIRS, ROW, SLACK, START, THERE
from sim.transport.tree_traverse import EDGE, MISS, NEAR
from sim.transport.triangles import surface_of

_FLAT = 1e-7
"""Pieces nearer to a plane than this [m] may be in it."""
_BEHIND, _BEFORE = 1, 2


@routine
def set_between(model: Model, lamp: int, between: Between) -> None:
    """Let lists be those of a lamp."""
    surfaces, laws = model.surfaces, model.laws
    set_lamp(model.emitters, lamp, between.hull)
    for surface in range(len(surfaces.law)):
        lets = 0
        for side in range(2):
            law = surfaces.law[surface, side]
            row = laws.specular_row[law]
            if laws.fill[law, 0] >= 0.0:
                lets = 1
            if row >= 0:
                for band in range(laws.specular.shape[2]):
                    for node in range(laws.specular.shape[3]):
                        lets |= int(laws.specular[row, lamp, band, node, 1] > 0.0)
        between.lets[surface] = lets
    for row in range(len(between.behind)):
        between.behind[row] = 0


@helper
def _is_pair(tree: Tree, row: int) -> bool:
    """Return whether a piece is a parallelogram of two triangles."""
    return bool(tree.names[row, NAMES + 1] != MISS)


@helper
def _corner(tree: Tree, row: int, corner: int, axis: int) -> float:
    """Return a coordinate of one of four corners of a piece; the fourth of a triangle is its first."""
    piece, fourth = tree.piece[row], corner == 3 and _is_pair(tree, row)
    one, two = corner == 1 or fourth, corner == 2 or fourth
    return float(piece[axis] + (piece[3 + axis] if one else 0.0) + (piece[6 + axis] if two else 0.0))


@helper
def _farthest(tree: Tree, row: int, normal: F64, point: F64, sign: float) -> float:
    """Return how far a piece reaches at most on one side of a plane [m]."""
    most = -np.inf
    for corner in range(4):
        height = 0.0
        for axis in range(3):
            height += (_corner(tree, row, corner, axis) - point[axis]) * normal[axis]
        most = max(most, sign * height)
    return float(most)


@helper
def _flat(tree: Tree, row: int, normal: F64, point: F64) -> bool:
    """Return whether a piece may lie in a plane."""
    return _farthest(tree, row, normal, point, 1.0) < _FLAT and _farthest(tree, row, normal, point, -1.0) < _FLAT


@helper
def _is_behind(emitters: Emitters, lamp: int, tree: Tree, row: int, behind: I64) -> bool:
    """Return whether a piece lies behind all lit faces of a lamp, as does the rest of a lamp that is convex."""
    if behind[row] == 0:
        behind[row] = _BEHIND
        for face in range(emitters.first[lamp], emitters.first[lamp + 1]):
            if _farthest(tree, row, emitters.normal[face], emitters.corner[face], 1.0) > NEAR:
                behind[row] = _BEFORE
                break
    return bool(behind[row] == _BEHIND)


@helper
def _add(model: Model, between: Between, which: int, leaf: int, lane: int) -> None:
    """Add a piece of a leaf of the scene's tree to a list, or give the list up where it is full."""
    tree, own, place = model.tree, between.tree, between.found[which]
    if place == LEAVES * ROW:
        between.found[which] = WALK
        return
    to, at = which * LEAVES + place // ROW, place % ROW
    row, piece = to * ROW + at, tree.lanes[leaf, ABOUT, START] + lane
    for column in range(COLUMNS):
        own.block[to, column, at] = tree.block[leaf, column, lane]
    for column in range(EDGES + 6):
        own.piece[row, column] = tree.piece[piece, column]
    first, second = tree.names[piece, NAMES], tree.names[piece, NAMES + 1]
    own.names[row, NAMES], own.names[row, NAMES + 1] = first, second
    for column in (SLACK, OFF):
        own.block[to, ABOUT, column] = max(own.block[to, ABOUT, column], tree.block[leaf, ABOUT, column])
    own.lanes[to, ABOUT, THERE] |= 1 << at
    own.lanes[to, ABOUT, PAIRS] |= (tree.lanes[leaf, ABOUT, PAIRS] >> lane & 1) << at
    dims = between.lets[surface_of(model.surfaces, first)]
    if second != MISS:
        dims |= between.lets[surface_of(model.surfaces, second)]
    between.dims[row] = dims
    between.found[which] = place + 1


@routine
def _take(model: Model, lamp: int, between: Between, which: int, leaf: int) -> None:
    """Add the pieces of a leaf of the scene's tree that touch the hull to a list."""
    tree = model.tree
    to_lamp = which % 2 == 0
    for lane in range(ROW):
        if not tree.lanes[leaf, ABOUT, THERE] >> lane & 1:
            continue
        row = tree.lanes[leaf, ABOUT, START] + lane
        if misses_piece(between.hull, tree.piece[row], _is_pair(tree, row)):
            continue
        if to_lamp and _is_behind(model.emitters, lamp, tree, row, between.behind):
            continue
        _add(model, between, which, leaf, lane)
        if between.found[which] == WALK:
            return


@helper
def _search(model: Model, lamp: int, between: Between, which: int) -> None:
    """Fill a list with the pieces that touch the hull."""
    tree, own, found, visit = model.tree, between.tree, between.found, between.visit
    found[which] = 0
    for leaf in range(which * LEAVES, (which + 1) * LEAVES):
        about = own.lanes[leaf, ABOUT]
        about[THERE], about[PAIRS], about[START] = 0, 0, leaf * ROW
        own.block[leaf, ABOUT, SLACK], own.block[leaf, ABOUT, OFF] = np.float32(0.0), np.float32(0.0)
    _take(model, lamp, between, which, 0)
    visit[0], top = 0, min(1, len(tree.child))
    while top > 0 and found[which] != WALK:
        top -= 1
        node = visit[top]
        for lane in range(ROW):
            box = tree.bounds[node, :, lane]
            if box[0] > box[3]:
                continue
            x, y, z = 0.5 * (float(box[0]) + box[3]), 0.5 * (float(box[1]) + box[4]), 0.5 * (float(box[2]) + box[5])
            hx, hy, hz = 0.5 * (float(box[3]) - box[0]), 0.5 * (float(box[4]) - box[1]), 0.5 * (float(box[5]) - box[2])
            if misses_box(between.hull, x + tree.frame[0], y + tree.frame[1], z + tree.frame[2], hx, hy, hz):
                continue
            child = tree.child[node, CHILD, lane]
            if child < 0:
                _take(model, lamp, between, which, -child - 1)
            elif top < len(visit):
                visit[top] = child
                top += 1
            else:
                found[which] = WALK
            if found[which] == WALK:
                return


@helper
def _part_planes(between: Between, which: int) -> None:
    """Give a list up where something lies in the plane of what dims light: the tree tells which is met."""
    own = between.tree
    first, last = which * LEAVES * ROW, which * LEAVES * ROW + between.found[which]
    for row in range(first, last):
        if between.dims[row] == 0:
            continue
        piece = own.piece[row]
        nx = piece[4] * piece[8] - piece[5] * piece[7]
        ny = piece[5] * piece[6] - piece[3] * piece[8]
        nz = piece[3] * piece[7] - piece[4] * piece[6]
        length = np.sqrt(nx * nx + ny * ny + nz * nz)
        between.axis[0], between.axis[1], between.axis[2] = nx / length, ny / length, nz / length
        for other in range(first, last):
            if other != row and _flat(own, other, between.axis, piece):
                between.found[which] = WALK
                return


@helper
def _holds(tree: Tree, row: int, x: float, y: float, z: float) -> bool:
    """Return whether a point in the plane of a piece lies within its edges."""
    piece, aa, ab, bb, pa, pb = tree.piece[row], 0.0, 0.0, 0.0, 0.0, 0.0
    for axis in range(3):
        a, b = piece[3 + axis], piece[6 + axis]
        offset = (x if axis == 0 else y if axis == 1 else z) - piece[axis]
        aa, ab, bb, pa, pb = aa + a * a, ab + a * b, bb + b * b, pa + offset * a, pb + offset * b
    whole = aa * bb - ab * ab
    u, v = (pa * bb - pb * ab) / whole, (pb * aa - pa * ab) / whole
    return min(min(u, v), 1.0 - max(u, v) if _is_pair(tree, row) else 1.0 - u - v) >= -EDGE


@helper
def _all_meet(between: Between, piece: int, normal: F64, point: F64) -> bool:
    """Return whether all ways from the receiver to the lamp's image lead through a piece of the mirror's plane."""
    for row in range(4):
        here = between.place[row]
        for corner in range(len(between.hull.image)):
            there = between.hull.image[corner]
            height, depth = 0.0, 0.0
            for axis in range(3):
                height += (here[axis] - point[axis]) * normal[axis]
                depth += (there[axis] - point[axis]) * normal[axis]
            if height * depth >= 0.0 and not (height == 0.0 and depth != 0.0):
                return False
            share = height / (height - depth)
            x, y, z = (
                here[0] + share * (there[0] - here[0]),
                here[1] + share * (there[1] - here[1]),
                here[2] + share * (there[2] - here[2]),
            )
            if not _holds(between.tree, piece, x, y, z):
                return False
    return True


@helper
def _part_mirror(model: Model, mirror: int, between: Between, which: int) -> None:
    """Take a mirror out of the list of what lies before it; give the list up unless all rays meet one piece of it."""
    own, surfaces, mirrors = between.tree, model.surfaces, model.mirrors
    between.mirror[which] = MISS
    for place in range(between.found[which]):
        row = which * LEAVES * ROW + place
        if not _flat(own, row, mirrors.normal[mirror], mirrors.point[mirror]):
            continue
        one, two = own.names[row, NAMES], max(own.names[row, NAMES], own.names[row, NAMES + 1])
        is_mirror = surface_of(surfaces, one) == mirrors.surface[mirror] == surface_of(surfaces, two)
        met = is_mirror and _all_meet(between, row, mirrors.normal[mirror], mirrors.point[mirror])
        if not met or between.mirror[which] != MISS:
            between.found[which] = WALK
            return
        between.mirror[which] = one
        own.lanes[row // ROW, ABOUT, THERE] &= ~(1 << row % ROW)
    if between.mirror[which] == MISS:
        between.found[which] = WALK


@helper
def _inside(tree: Tree, place: F64) -> bool:
    """Return whether a receiver lies in the box around all, as single precision takes for granted."""
    within = True
    for corner in range(4):
        for axis in range(3):
            within = within and abs(place[corner, axis] - tree.frame[axis]) <= tree.frame[3 + axis]
    return within


@helper
def _list_straight(model: Model, lamp: int, between: Between) -> None:
    """Fill the list for straight light."""
    hull, place = between.hull, between.place
    for axis in range(3):
        between.axis[axis] = 0.0
    enclose(hull, place, hull.box, hull.frame[0], between.axis)
    hull.low[FACING] = height_along(place[4], place[0]) + NEAR
    _search(model, lamp, between, 0)
    _part_planes(between, 0)


@helper
def _list_mirror(model: Model, lamp: int, mirror: int, between: Between) -> None:
    """Fill the two lists for light by a plane mirror: from the receiver to the mirror, and on to the lamp."""
    hull, place, image, axis = between.hull, between.place, between.image, between.axis
    normal, point = model.mirrors.normal[mirror], model.mirrors.point[mirror]
    level = height_along(normal, point)
    above = height_along(normal, place[0]) + height_along(normal, place[3]) > 2.0 * level
    for corner in range(len(hull.box)):
        depth = height_along(normal, hull.box[corner]) - level
        for k in range(3):
            hull.image[corner, k] = hull.box[corner, k] - 2.0 * depth * normal[k]
    slope = height_along(normal, hull.frame[0])
    for k in range(3):
        axis[k] = hull.frame[0, k] - 2.0 * slope * normal[k]
    enclose(hull, place, hull.image, axis, normal)
    hull.low[FACING] = height_along(place[4], place[0]) + NEAR
    if above:
        hull.low[BEFORE] = level - MARGIN
    else:
        hull.high[BEFORE] = level + MARGIN
    which = 1 + 2 * mirror
    _search(model, lamp, between, which)
    _part_mirror(model, mirror, between, which)
    _part_planes(between, which)
    if between.found[which] == WALK:
        return
    mirror_place(place, point, normal, image)
    enclose(hull, image, hull.box, hull.frame[0], normal)
    hull.low[FACING] = height_along(image[4], image[0]) + NEAR
    if above:
        hull.low[BEFORE] = level + NEAR
    else:
        hull.high[BEFORE] = level - NEAR
    _search(model, lamp, between, which + 1)
    _part_planes(between, which + 1)


@routine
def list_between(model: Model, lamp: int, receiver: int, seen: F64, between: Between) -> None:
    """Fill the lists of a receiver; `seen` as in `sim.transport.direct.look`."""
    place_receiver(model.receivers, receiver, between.place)
    inside = _inside(model.tree, between.place)
    for which in range(len(between.found)):
        between.found[which] = WALK
    if inside and seen[0] > 0.0:
        _list_straight(model, lamp, between)
    for mirror in range(len(model.mirrors.surface)):
        if inside and seen[1 + mirror] > 0.0:
            _list_mirror(model, lamp, mirror, between)
