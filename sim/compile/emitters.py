"""The lit faces of lamps as the arrays that kernels sample."""

from collections.abc import Sequence
from itertools import pairwise, product

import numpy as np
import numpy.typing as npt

from sim.compile.beams import pack_beams
from sim.compile.lamp_forks import lamp_forks
from sim.geometry.mesh import FloatArray, IntArray
from sim.lamps.lamp import LampShape
from sim.transport.arrays import Emitters, Surfaces
from sim.transport.openings import COLUMNS as OPENING
from sim.transport.pieces import CENTRE, COLUMNS, HALF, ORDER, PLACE, SHARE, START, STEP
from sim.transport.triangles import NOTHING, SURFACE

BoolArray = npt.NDArray[np.bool_]

SAME = 1e-9
"""Two triangles make a parallelogram if its fourth corner misses by less than this part of its size."""


MOST_PIECES = 512
"""Pieces of a lamp; one of more faces, or with triangles among them, is looked at as a whole."""


def pack_emitters(shapes: Sequence[LampShape], live: FloatArray) -> Emitters:
    """Return the emissive faces of all lamps; `live` (lamp, band) tells where each emits.

    Two triangles in a row that make a parallelogram, as on a tube or a panel, become one face: points spread evenly
    over its two coordinates are spread evenly over the lamp.
    """
    faces = [_faces(shape.body.corners[shape.emits]) for shape in shapes]
    areas = [0.5 * np.linalg.norm(np.cross(edges[:, 1], edges[:, 2]), axis=1) * (1 + whole) for edges, whole in faces]
    cumulative = [np.cumsum(area) / area.sum() for area in areas]
    for shares in cumulative:
        shares[-1] = 1.0
    joined = np.concatenate([edges for edges, _ in faces])
    across = np.cross(joined[:, 1], joined[:, 2])
    beam, beams = pack_beams(shapes)
    pieces = [_pieces(edges, whole, shape) for (edges, whole), shape in zip(faces, shapes, strict=True)]
    first = np.cumsum([0] + [len(area) for area in areas])
    piece_first, piece_row, piece = _pack_pieces(pieces, joined, first)
    normal = across / np.linalg.norm(across, axis=1)[:, None]
    fork = _pack_forks(piece_first, piece, joined[piece_row, 1:], normal[piece_row])
    return Emitters(
        first=first,
        corner=np.ascontiguousarray(joined[:, 0]),
        edge1=np.ascontiguousarray(joined[:, 1]),
        edge2=np.ascontiguousarray(joined[:, 2]),
        normal=normal,
        whole=np.concatenate([whole for _, whole in faces]),
        triangle=np.full(len(joined), -1),
        cumulative=np.concatenate(cumulative),
        area=np.array([area.sum() for area in areas]),
        live=live,
        beam=beam,
        beams=beams,
        opening_first=np.zeros(len(shapes) + 1, dtype=np.int64),
        opening=np.zeros((0, OPENING)),
        piece_first=piece_first,
        piece_row=piece_row,
        piece=piece,
        fork=fork,
    )


def _faces(corners: FloatArray) -> tuple[FloatArray, IntArray]:
    """Return corner and two edges of each face, (e, 3, 3), and whether it is a parallelogram, (e,)."""
    outlines, pairs = _parallelograms(corners)
    at = np.arange(len(corners))
    # Where many triangles in a row could pair, every second one takes the next.
    run = np.maximum.accumulate(np.where(pairs & ~np.roll(pairs, 1), at, 0))
    whole = pairs & ((at - run) % 2 == 0)
    taken = np.roll(whole, 1)
    places = np.where(whole[:, None, None], outlines, corners)[~taken]
    edges = places - places[:, :1]
    edges[:, 0] = places[:, 0]
    return edges, whole[~taken].astype(np.int64)


def _pack_pieces(lamps: list[FloatArray], edges: FloatArray, first: IntArray) -> tuple[IntArray, IntArray, FloatArray]:
    """Return each lamp's first piece, each piece's face, and the table of pieces; `first` is each lamp's first face."""
    row = np.concatenate([pieces[:, 0].astype(np.int64) + at for pieces, at in zip(lamps, first, strict=False)])
    joined = np.concatenate(lamps)
    start, step = joined[:, 1:3], joined[:, 3:5]
    spans = edges[row, 1:] * step[:, :, None]
    areas = np.linalg.norm(np.cross(spans[:, 0], spans[:, 1]), axis=1)
    lamp = np.repeat(np.arange(len(lamps)), [len(pieces) for pieces in lamps])
    table = np.zeros((len(row), COLUMNS))
    table[:, START : START + 2], table[:, STEP : STEP + 2] = start, step
    table[:, CENTRE : CENTRE + 3] = edges[row, 0] + ((start + 0.5 * step)[:, :, None] * edges[row, 1:]).sum(axis=1)
    diagonals = np.stack([spans[:, 0] + spans[:, 1], spans[:, 0] - spans[:, 1]])
    table[:, HALF] = 0.5 * np.linalg.norm(diagonals, axis=2).max(axis=0)
    table[:, SHARE] = areas / np.bincount(lamp, areas, minlength=len(lamps))[lamp]
    return np.cumsum([0] + [len(pieces) for pieces in lamps]), row, table


def _pack_forks(first: IntArray, piece: FloatArray, edges: FloatArray, normal: FloatArray) -> FloatArray:
    """Return the trees of all lamps' pieces, one after the other, and note in each piece its place there.

    `edges` (p, 2, 3) and `normal` (p, 3) are those of the pieces' faces.
    """
    extent = 0.5 * np.abs(edges * piece[:, STEP : STEP + 2, None]).sum(axis=1)
    trees = [lamp_forks(piece[a:b], extent[a:b], normal[a:b]) for a, b in pairwise(first)]
    piece[:, PLACE] = np.concatenate([place for _, place in trees])
    piece[:, ORDER] = np.concatenate([np.argsort(place) for _, place in trees])
    return np.concatenate([forks for forks, _ in trees])


def join_faces(emitters: Emitters, surfaces: Surfaces) -> None:
    """Tell faces and lit triangles, which come in the same order, of each other."""
    triangles = np.flatnonzero(surfaces.unlit[surfaces.names[:, SURFACE]] != NOTHING)
    lit = np.flatnonzero(surfaces.emitter[:, 0] >= 0)
    surfaces.emitter[lit, 1] = np.repeat(np.arange(len(emitters.whole)), 1 + emitters.whole)
    emitters.triangle[surfaces.emitter[lit[::-1], 1]] = triangles[lit[::-1]]


def _parallelograms(corners: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Return which triangles make a parallelogram with the next, (n,), and its corner and two neighbours, (n, 3, 3)."""
    one, other = corners, np.roll(corners, -1, axis=0)
    size = np.abs(one - one[:, :1]).max(axis=(1, 2))
    outlines, found = one.copy(), np.zeros(len(one), dtype=np.bool_)
    for turn, other_turn in product(range(3), repeat=2):
        tip, left, right = (one[:, (turn + k) % 3] for k in range(3))
        far, back, forth = (other[:, (other_turn + k) % 3] for k in range(3))
        # The shared edge runs the other way round in the neighbour.
        gaps = np.abs(np.stack([back - right, forth - left, tip + far - left - right])).max(axis=(0, 2))
        fits = (gaps < SAME * size) & ~found
        outlines[fits] = np.stack([tip, left, right], axis=1)[fits]
        found |= fits
    found[-1:] = False  # the last has no next
    return outlines, found


def _pieces(edges: FloatArray, whole: IntArray, shape: LampShape) -> FloatArray:
    """Return row, start and step along both edges, of one lamp's pieces, (p, 5); none if it stays whole."""
    if not whole.all() or len(whole) > MOST_PIECES or shape.directions is not None:
        return np.zeros((0, 5))
    lengths = np.linalg.norm(edges[:, 1:], axis=2)
    rows = []
    for row, (along, across) in enumerate(lengths):
        wanted = MOST_PIECES // len(whole)
        # As square as they can be.
        first = int(np.clip(round(np.sqrt(wanted * along / across)), 1, wanted))
        counts = first, wanted // first
        for i in range(counts[0]):
            rows += [(row, i / counts[0], j / counts[1], 1.0 / counts[0], 1.0 / counts[1]) for j in range(counts[1])]
    return np.array(rows)
