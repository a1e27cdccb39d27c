"""The arrays that a scene becomes; what kernels take and all they know.

n triangles, p pieces, s surfaces, w laws, l lamps, b bands, m nodes, q gathered receivers. All lengths in metres.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

F64 = npt.NDArray[np.float64]
I64 = npt.NDArray[np.int64]
BOOL = npt.NDArray[np.bool_]
F32 = npt.NDArray[np.float32]
I32 = npt.NDArray[np.int32]


BY_PATHS, BY_PHOTONS, BY_LINKS = 0, 1, 2
"""Ways in which light by matt surfaces is brought to a plane."""
ALPHA, SHARE, COSINES = 0, 1, 2
"""Places in a row of `Laws.facets`."""


class Tree(NamedTuple):
    """A tree of boxes, sixteen to a node, over pieces, sixteen to a leaf; a piece is one triangle or a parallelogram.

    What a node or a leaf is lies in one run of memory, which the processor fetches at once. Names of columns and rows
    are in `sim.transport.tree_lanes`.

    Nodes: ``bounds`` (m, 8, 16), ``child`` and ``orders`` (m, 64) are the same memory as three kinds of numbers. Six
    rows of ``bounds``: low and high x, y, z of each child's box about the scene's centre, widened by what single
    precision may lose. Row CHILD of ``child``: a node's row, or ``-leaf - 1``. From ORDERS on ``orders``: for each
    octant of directions the children from far to near, four bits each.

    Leaves: ``block`` (f, 13, 16) and ``lanes`` are the same memory. Twelve rows of ``block``: three planes of each
    piece, as a vector and what is to be added to its product with a point about the centre: its own, by a normal as
    long as the piece's edges span, and two at right angles to it, whose heights are the coordinates of a point between
    the edges. In row ABOUT of it, how far coordinates times that span may be off in single precision (SLACK), and
    distances (OFF), bounds from the longest edge and the scene's size; in that row of ``lanes``, masks of the pieces
    there are (THERE) and of the parallelograms (PAIRS), and the row below of the first piece (START). Leaf 0 holds the
    largest pieces, tested before the tree.

    ``piece`` (p, 10) and ``names`` (p, 20) are the same memory: corner and two edges of each, in the tree's order, and
    from NAMES on ``names`` the rows in the scene of its triangle, or of a parallelogram's triangle at the corner and
    the one across, -1 for none. ``place`` (n,): for each row in the
    scene that of its piece. ``frame`` (8,): centre and half size of the box around all, a distance [m] beyond any in
    it, and one over the slack of a unit edge in a leaf.
    """

    bounds: F32
    child: I32
    orders: I64
    block: F32
    lanes: I32
    piece: F64
    names: I32
    place: I32
    frame: F64


class Stack(NamedTuple):
    """Scratch of one ray on its way through the tree; places in it are named in `sim.transport.tree_lanes`.

    ``ray`` (32,): the ray in single precision and the limits of its search. ``state`` (16,): what has been found and
    what is to be looked at. ``exact`` (16,): origin, direction, nearest distance [m], distance to the tree. ``low``,
    ``high`` (16,): distances to the pieces of a leaf. ``reference``, ``distance``: what is still to be visited.
    """

    ray: F32
    state: I64
    exact: F64
    low: F32
    high: F32
    reference: I32
    distance: F32


class Surfaces(NamedTuple):
    """What lies on each triangle and each surface.

    ``normal`` (n, 4) and ``names`` (n, 8) are the same memory, half of what a processor fetches at once: unit normals
    of fronts in the first three numbers of ``normal``, in the last two of ``names`` the surface's row and the row of
    the cell of a triangle without a grid, or -1. `sim.transport.triangles` names the columns.
    ``emitter`` (e, 2), for triangles of lamps alone: lamp whose light leaves the front, or -1, and the face among the
    emitters of which it is all or half. ``tangent`` (t, 3), for triangles of screens alone: direction of the first
    wires, in their planes. ``unlit``, ``unwoven`` (s,): how many triangles before these have no row there, or -1 if the
    surface's own have none. ``law`` (s, 2): law row of front and back.
    ``grid`` (s, 9): origin and the two edges divided by their squared lengths, so that a dot product gives 0 … 1.
    ``cells`` (s, 3): first cell, cells along u and v; first = -1 without a grid.
    ``mirror`` (s,): 1 where light straight off this plane mirror is found by its image.
    ``shared`` (c,): 1 for a cell whose straight light and images `gather_direct` finds, 0 where photons bring all.
    """

    normal: F64
    names: I32
    emitter: I64
    tangent: F64
    unlit: I64
    unwoven: I64
    law: I64
    grid: F64
    cells: I64
    mirror: I64
    shared: I64


class Laws(NamedTuple):
    """Scattering parts of each law, averaged over each lamp's spectrum in each band.

    ``diffuse`` (w, l, b, 2): Lambertian reflectance, transmittance. ``lobe`` (w, l, b): reflectance of a rough mirror.
    ``facets`` (w, 2 + 2 nodes): its roughness (ALPHA of GGX), or 0 without one; the SHARE of matt light that one facet
    does not return; from COSINES on nodes of the cosine with which light leaves that met several, and its densities
    there, see `sim.transport.facets`.
    ``specular`` (p, l, b, nodes, 2): mirror reflectance and straight transmittance at |cos| 0 … 1;
    ``specular_row`` (w,): its row or -1. ``fill`` (w, 2): wire over pitch, -1 where the law is no screen.
    ``wires`` (w, l, b, 2): reflectance of a screen's wires, and share that gets out of light which they catch twice.
    ``clear`` (w, 2, nodes, nodes): share of light off each set that meets no wire again, at cosines across it of
    0 … 1 and shares of 0 … 1 that the other set hides;
    ``twice`` (w, 2): share of matt light that is caught twice, and the largest part of what meets a set.
    """

    diffuse: F64
    lobe: F64
    facets: F64
    specular: F64
    specular_row: I64
    fill: F64
    wires: F64
    clear: F64
    twice: F64


class Emitters(NamedTuple):
    """Emissive triangles and parallelograms of each lamp.

    ``first`` (l + 1,): its run of rows below. ``corner``, ``edge1``, ``edge2``, ``normal`` (e, 3); ``whole`` (e,): 1
    for a parallelogram; ``triangle`` (e,): row in the scene of a triangle in the same place. ``cumulative`` (e,): share
    of the lamp's area up to and with this row. ``area`` (l,) [m2].
    ``live`` (l, b): 1 where the lamp emits in the band, else 0. ``beam`` (l, 3): where the lamp's angular law begins in
    ``beams`` (or -1 for Lambert's) and its counts of polar angles and azimuths; `sim.transport.beams` tells the table.
    ``opening_first`` (l + 1,), ``opening`` (o, 16): corner, edges at right angles, outward unit normal, area [m2],
    squared edges and worth of rectangles by which light leaves the lamp's reflector, faces of one box, and of images.
    ``piece_first`` (l + 1,), ``piece_row`` (p,), ``piece`` (p, 11): the faces cut up, see `sim.transport.pieces`;
    ``fork`` (2 p, 15): trees of these, see `sim.transport.lamp_tree`.
    """

    first: I64
    corner: F64
    edge1: F64
    edge2: F64
    normal: F64
    whole: I64
    triangle: I64
    cumulative: F64
    area: F64
    live: F64
    beam: I64
    beams: F64
    opening_first: I64
    opening: F64
    piece_first: I64
    piece_row: I64
    piece: F64
    fork: F64


class Mirrors(NamedTuple):
    """Plane mirrors that are handled by images: ``surface`` (k,), ``point`` (k, 3), ``normal`` (k, 3).

    ``chain`` (l, sides, columns): for each lamp the sides of plane surfaces that turn light, by which images of images
    are found, see `sim.transport.chains`.
    """

    surface: I64
    point: F64
    normal: F64
    chain: F64


class Receivers(NamedTuple):
    """Free-standing receivers: ``origin``, ``edge_u``, ``edge_v``, ``normal`` (q, 3); a point has zero edges."""

    origin: F64
    edge_u: F64
    edge_v: F64
    normal: F64


class Planes(NamedTuple):
    """Flat receivers that photons cross.

    ``grid`` (k, 9): origin and the two edges divided by their squared lengths; ``normal`` (k, 3): side of arrival;
    ``cells`` (k, 4): gathered receiver of the first cell, cells along u and v, and the way: by photons, which bring all
    that `gather_direct` does not, or by paths or links, to which photons leave what `gather_paths` or `gather_links`
    finds well.
    """

    grid: F64
    normal: F64
    cells: I64


class Model(NamedTuple):
    """All that a kernel needs of a scene."""

    tree: Tree
    surfaces: Surfaces
    laws: Laws
    emitters: Emitters
    mirrors: Mirrors
    receivers: Receivers
    planes: Planes
