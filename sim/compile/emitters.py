"""The lit faces of lamps as the arrays that kernels sample."""

from collections.abc import Sequence

import numpy as np

from sim.compile.beams import pack_beams
from sim.geometry.mesh import FloatArray, IntArray
from sim.lamps.lamp import LampShape
from sim.transport.arrays import Emitters

SAME = 1e-9
"""Two triangles make a parallelogram if its fourth corner misses by less than this part of its size."""


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
    return Emitters(
        first=np.cumsum([0] + [len(area) for area in areas]),
        corner=np.ascontiguousarray(joined[:, 0]),
        edge1=np.ascontiguousarray(joined[:, 1]),
        edge2=np.ascontiguousarray(joined[:, 2]),
        normal=across / np.linalg.norm(across, axis=1)[:, None],
        whole=np.concatenate([whole for _, whole in faces]),
        cumulative=np.concatenate(cumulative),
        area=np.array([area.sum() for area in areas]),
        live=live,
        beam=beam,
        beams=beams,
    )


def _faces(corners: FloatArray) -> tuple[FloatArray, IntArray]:
    """Return corner and two edges of each face, (e, 3, 3), and whether it is a parallelogram, (e,)."""
    rows, whole = [], []
    at = 0
    while at < len(corners):
        pair = _parallelogram(corners[at], corners[at + 1]) if at + 1 < len(corners) else None
        a, b, c = corners[at] if pair is None else pair
        rows.append((a, b - a, c - a))
        whole.append(0 if pair is None else 1)
        at += 1 if pair is None else 2
    return np.array(rows), np.array(whole, dtype=np.int64)


def _parallelogram(one: FloatArray, other: FloatArray) -> FloatArray | None:
    """Return a corner of the parallelogram of two triangles and its two neighbours, (3, 3), or None."""
    size = float(np.abs(one - one[0]).max())
    for turn in range(3):
        tip, left, right = np.roll(one, -turn, axis=0)
        for other_turn in range(3):
            far, back, forth = np.roll(other, -other_turn, axis=0)
            # The shared edge runs the other way round in the neighbour.
            gaps = (back - right, forth - left, tip + far - left - right)
            if max(float(np.abs(gap).max()) for gap in gaps) < SAME * size:
                return np.stack([tip, left, right])
    return None
