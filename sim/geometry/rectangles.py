"""Flat builders: rectangles, rectangles with holes, and the six faces of a box.

Neighbouring triangles share their corners exactly and no corner lies within another triangle's edge, so no ray slips
through a wall beside an opening.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from sim.geometry.frame import Frame, Hole, cells_of_size
from sim.geometry.mesh import FloatArray, Mesh

FACES = ("bottom", "top", "front", "back", "left", "right")
"""Faces of a box, in the order in which they are built."""

Point = tuple[float, float]
Triangle = tuple[Point, Point, Point]


def rectangle(origin: FloatArray, edge_u: FloatArray, edge_v: FloatArray) -> Mesh:
    """Return two triangles, front towards ``edge_u x edge_v``.

    Parameters
    ----------
    origin, edge_u, edge_v : (3,) float [m]
    """
    return rectangle_with_holes(origin, edge_u, edge_v, ())


def quadrilateral(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray, facing: FloatArray) -> Mesh:
    """Return two triangles between four corners in order around, front towards a direction.

    Parameters
    ----------
    a, b, c, d : (3,) float [m]
        Corners of a flat, convex quadrilateral.
    facing : (3,) float
        Any direction with a part along the wanted normal.
    """
    mesh = Mesh(np.stack([a, b, c, d]), np.array([[0, 1, 2], [0, 2, 3]]))
    return mesh if float(mesh.area_vectors.sum(axis=0) @ facing) > 0.0 else mesh.flipped()


def rectangle_part(origin: FloatArray, edge_u: FloatArray, edge_v: FloatArray, part: Hole) -> Mesh:
    """Return the piece of a rectangle that would fill a hole of it, with the hole's very corners."""
    u0, v0, u1, v1 = part
    return _placed([((u0, v0), (u1, v0), (u1, v1)), ((u0, v0), (u1, v1), (u0, v1))], origin, edge_u, edge_v)


def rectangle_with_holes(origin: FloatArray, edge_u: FloatArray, edge_v: FloatArray, holes: Sequence[Hole]) -> Mesh:
    """Return the triangles of a rectangle around its holes, front towards ``edge_u x edge_v``.

    Parameters
    ----------
    origin, edge_u, edge_v : (3,) float [m]
    holes : sequence of (u0, v0, u1, v1) [m]
        Distances along the two edges; holes lie within the rectangle and do not overlap.

    Returns
    -------
    Mesh
        Without triangles where the holes leave nothing.

    Notes
    -----
    The box around all holes is cut into strips at each hole's lower and upper end, and what is free of a strip is
    zipped between the corners on its two long sides. Four trapezia join that box to the rectangle, whose own edges
    so stay uncut and meet the edges of the next wall.
    """
    width, height = float(np.linalg.norm(edge_u)), float(np.linalg.norm(edge_v))
    if not holes:
        return rectangle_part(origin, edge_u, edge_v, (0.0, 0.0, width, height))
    inner = (
        min(hole[0] for hole in holes),
        min(hole[1] for hole in holes),
        max(hole[2] for hole in holes),
        max(hole[3] for hole in holes),
    )
    strips, corners = _free_strips(holes, inner)
    triangles = _margin(inner, (width, height), corners)
    for v0, v1, u0, u1 in strips:
        below = sorted(point for point in corners if point[1] == v0 and u0 <= point[0] <= u1)
        above = sorted(point for point in corners if point[1] == v1 and u0 <= point[0] <= u1)
        triangles += _zipped(below, above)
    return _placed(triangles, origin, edge_u, edge_v)


def frame_mesh(frame: Frame) -> Mesh:
    """Return the triangles of a frame without its holes, front towards the measured side."""
    mesh = rectangle_with_holes(frame.origin, frame.edge_u, frame.edge_v, frame.holes)
    return mesh.flipped() if frame.flipped else mesh


def box_frames(corner: FloatArray, size: FloatArray, receiver_size: float, *, inward: bool = False) -> dict[str, Frame]:
    """Return the six faces of an upright box by name, measured on its outside or inside.

    Parameters
    ----------
    corner, size : (3,) float [m]
        Lowest corner, and the lengths along x, y, z.
    receiver_size : float [m]
        Wanted edge of a cell.
    inward : bool
        True for a room, whose faces are read from within.

    Notes
    -----
    Coordinates (u, v) are the same whichever side is measured: (x, y) on bottom and top, (x, z) on front and back,
    (y, z) on left and right, counted from the face's lowest corner.
    """
    x, y, z = np.diag(size)
    edges = {"bottom": (x, y), "top": (x, y), "front": (x, z), "back": (x, z), "left": (y, z), "right": (y, z)}
    shifts = {"top": z, "back": y, "right": x}
    against_outward = {"bottom", "back", "left"}
    return {
        name: Frame(
            corner + shifts.get(name, np.zeros(3)),
            *edges[name],
            shape=(
                cells_of_size(float(edges[name][0].sum()), receiver_size),
                cells_of_size(float(edges[name][1].sum()), receiver_size),
            ),
            flipped=(name in against_outward) != inward,
        )
        for name in FACES
    }


def box(corner: FloatArray, size: FloatArray) -> dict[str, Mesh]:
    """Return the six faces of an upright box by name, two triangles each, fronts outward.

    Parameters
    ----------
    corner, size : (3,) float [m]
    """
    return {name: frame_mesh(frame) for name, frame in box_frames(corner, size, float(np.max(size))).items()}


def _placed(triangles: list[Triangle], origin: FloatArray, edge_u: FloatArray, edge_v: FloatArray) -> Mesh:
    if not triangles:
        return Mesh(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64))
    plane, faces = np.unique(np.array(triangles).reshape(-1, 2), axis=0, return_inverse=True)
    share = plane / [np.linalg.norm(edge_u), np.linalg.norm(edge_v)]
    return Mesh(origin + share[:, :1] * edge_u + share[:, 1:] * edge_v, faces.reshape(-1, 3))


Strip = tuple[float, float, float, float]


def _free_strips(holes: Sequence[Hole], inner: Hole) -> tuple[list[Strip], set[Point]]:
    """Return the free pieces (v0, v1, u0, u1) between the holes, and all corners that they and `inner` use."""
    levels = sorted({level for hole in holes for level in (hole[1], hole[3])})
    corners: set[Point] = {(u, v) for u in (inner[0], inner[2]) for v in (inner[1], inner[3])}
    strips: list[Strip] = []
    for v0, v1 in pairwise(levels):
        start = inner[0]
        cutting = sorted(hole for hole in holes if hole[1] < v1 and hole[3] > v0)
        for end, following in [(hole[0], hole[2]) for hole in cutting] + [(inner[2], inner[2])]:
            if end > start:
                strips.append((v0, v1, start, end))
                corners |= {(u, v) for u in (start, end) for v in (v0, v1)}
            start = following
    return strips, corners


def _margin(inner: Hole, size: Point, corners: set[Point]) -> list[Triangle]:
    """Return the triangles between the box around all holes and the rectangle's four corners."""
    width, height = size
    u0, v0, u1, v1 = inner
    bottom = sorted(point for point in corners if point[1] == v0)
    top = sorted(point for point in corners if point[1] == v1)
    left = sorted(point for point in corners if point[0] == u0)
    right = sorted(point for point in corners if point[0] == u1)
    triangles: list[Triangle] = []
    if v0 > 0.0:
        triangles += _zipped([(0.0, 0.0), (width, 0.0)], bottom)
    if u1 < width:
        triangles += _zipped([(width, 0.0), (width, height)], right)
    if v1 < height:
        triangles += _zipped([(width, height), (0.0, height)], top[::-1])
    if u0 > 0.0:
        triangles += _zipped([(0.0, height), (0.0, 0.0)], left[::-1])
    return triangles


def _zipped(near: list[Point], far: list[Point]) -> list[Triangle]:
    """Return the triangles between two chains of corners that run the same way, `far` on the left of `near`."""

    def along(point: Point) -> float:
        return (point[0] - near[0][0]) * direction[0] + (point[1] - near[0][1]) * direction[1]

    direction = (near[-1][0] - near[0][0], near[-1][1] - near[0][1])
    triangles: list[Triangle] = []
    i = j = 0
    while i + 1 < len(near) or j + 1 < len(far):
        if j + 1 == len(far) or (i + 1 < len(near) and along(near[i + 1]) < along(far[j + 1])):
            triangles.append((near[i], near[i + 1], far[j]))
            i += 1
        else:
            triangles.append((near[i], far[j + 1], far[j]))
            j += 1
    return triangles
