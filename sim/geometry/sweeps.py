"""Surfaces swept from a line: tubes along curves, cylinders, extruded and revolved profiles.

A prism stands for a round body here, and its radius is chosen so that its perimeter is the circle's. By Cauchy's
formula the mean projected width of a convex outline is its perimeter over pi, so a prism of the same perimeter casts,
on average over all views around it, the same shadow as the cylinder, and its sides have the cylinder's area.
"""

from itertools import pairwise

import numpy as np

from sim.geometry.mesh import FloatArray, IntArray, Mesh, frame_from_axis

SHARPEST_TURN = np.cos(np.deg2rad(150.0))


def ring_radius(radius: float, sides: int) -> float:
    """Return the distance of a regular polygon's corners whose perimeter is that of the circle [m]."""
    return radius * (np.pi / sides) / float(np.sin(np.pi / sides))


def cylinder(start: FloatArray, end: FloatArray, radius: float, sides: int = 32, *, caps: bool = True) -> Mesh:
    """Return a prism of the cylinder's perimeter, fronts outward.

    Parameters
    ----------
    start, end : (3,) float [m]
        Ends of the axis.
    radius : float [m]
    sides : int
    caps : bool
        Whether the two ends are closed.

    Notes
    -----
    The triangles of side j are rows 2 j and 2 j + 1; the caps follow, first the start's, `sides` rows each.
    """
    return swept_tube(np.stack([start, end]), np.full(2, radius), sides, caps=caps)


def swept_tube(points: FloatArray, radius: FloatArray, sides: int = 16, *, caps: bool = True) -> Mesh:
    """Return a tube of round section along a polyline, fronts outward.

    Parameters
    ----------
    points : (n, 3) float [m]
    radius : (n,) float [m]
        At each point; between them it changes evenly.
    sides : int
    caps : bool
        Whether the two ends are closed.

    Raises
    ------
    ValueError
        As `tube_rings` does.

    Notes
    -----
    The triangles of section i, side j are rows ``2 (i sides + j)`` and the next; the caps follow, `sides` rows each.
    """
    return stitched(tube_rings(points, radius, sides), caps=caps)


def tube_rings(points: FloatArray, radius: FloatArray, sides: int) -> FloatArray:
    """Return the outline of a tube at each point of a polyline, (n, sides, 3) [m].

    Parameters
    ----------
    points : (n, 3) float [m]
    radius : (n,) float [m]
    sides : int

    Raises
    ------
    ValueError
        If two points coincide, the line turns back on itself by more than 150 degrees, or a bend is so tight for the
        radius that the tube would pass through itself.

    Notes
    -----
    The frame is carried from segment to segment by the smallest rotation between their directions (discrete parallel
    transport), which adds no twist. At a bend the two prisms meet in the mitre plane, so each keeps its section.
    """
    steps = np.diff(points, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    if np.any(lengths <= 0.0):
        raise ValueError("two points that follow each other coincide; leave one of them out")
    directions = steps / lengths[:, None]
    _refuse_folds(directions, lengths, radius)
    offsets = _transported_circles(directions, sides)
    before = directions[np.maximum(np.arange(len(points)) - 1, 0)]
    after = directions[np.minimum(np.arange(len(points)), len(directions) - 1)]
    mitre = before + after
    around = offsets[np.maximum(np.arange(len(points)) - 1, 0)]
    slide = np.einsum("nsk,nk->ns", around, mitre) / np.einsum("nk,nk->n", before, mitre)[:, None]
    rounded = np.array([ring_radius(float(value), sides) for value in radius])
    rings: FloatArray = points[:, None] + rounded[:, None, None] * (around - slide[:, :, None] * before[:, None, :])
    return rings


def stitched(rings: FloatArray, *, caps: bool) -> Mesh:
    """Return the surface through outlines that follow each other, front on the outer side of a tube.

    Parameters
    ----------
    rings : (n, sides, 3) float [m]
        Corners of each outline, anticlockwise seen from the far end of the tube.
    caps : bool
        Whether fans close the first and the last outline.
    """
    count, sides = rings.shape[:2]
    i, j = np.meshgrid(np.arange(count - 1) * sides, np.arange(sides), indexing="ij")
    following = (j + 1) % sides
    a, b, c, d = i + j, i + following, i + sides + following, i + sides + j
    faces = np.stack([np.stack([a, b, c], -1), np.stack([a, c, d], -1)], axis=2).reshape(-1, 3)
    vertices = rings.reshape(-1, 3)
    if not caps:
        return Mesh(vertices, faces)
    middles = np.stack([rings[0].mean(axis=0), rings[-1].mean(axis=0)])
    side = np.arange(sides)
    beyond = (side + 1) % sides
    last = (count - 1) * sides
    first_cap = np.stack([np.full(sides, count * sides), beyond, side], -1)
    last_cap = np.stack([np.full(sides, count * sides + 1), last + side, last + beyond], -1)
    return Mesh(np.concatenate([vertices, middles]), np.concatenate([faces, first_cap, last_cap]))


def extruded(profile: FloatArray, start: FloatArray, end: FloatArray, across: FloatArray, facing: FloatArray) -> Mesh:
    """Return the strip that a profile sweeps from one end of an axis to the other.

    Parameters
    ----------
    profile : (p, 2) float [m]
        Corners as distances along `across` and along `facing` from the axis.
    start, end : (3,) float [m]
        Ends of the axis.
    across, facing : (3,) float, unit vectors
        Perpendicular to the axis and to each other.

    Notes
    -----
    The front lies on the left of someone who walks along the profile with `across` to the right and `facing` ahead: a
    profile written from the left edge to the right one shows its front towards `facing`. The triangles of profile
    piece k are rows 2 k and 2 k + 1.
    """
    offsets = profile[:, :1] * across + profile[:, 1:] * facing
    pieces = len(profile)
    k = np.arange(pieces - 1)
    faces = _quads(k, k + 1, k + 1 + pieces, k + pieces)
    mesh = Mesh(np.concatenate([start + offsets, end + offsets]), faces)
    # With (across, facing, axis) right-handed the quad k, k+1, k+1', k' has its front on the walker's right.
    return mesh.flipped() if np.dot(np.cross(across, facing), end - start) > 0.0 else mesh


def revolved(profile: FloatArray, point: FloatArray, direction: FloatArray, sides: int = 32) -> Mesh:
    """Return the surface that a profile sweeps around an axis.

    Parameters
    ----------
    profile : (p, 2) float [m]
        Corners as distance from the axis (not negative) and distance along it from `point`.
    point : (3,) float [m]
    direction : (3,) float, unit vector
    sides : int

    Notes
    -----
    The front lies on the left of someone who walks along the profile with the distance from the axis to the right and
    the axis ahead: a profile walked upwards shows its front to the axis, one walked downwards shows it outward. A
    profile that starts and ends on the axis closes the body. The triangles of profile piece k are rows
    ``2 k sides`` to ``2 (k + 1) sides - 1`` where it does not touch the axis; degenerate ones are left out.
    """
    angle = 2.0 * np.pi * np.arange(sides) / sides
    x, y, _ = frame_from_axis(direction)
    circle = np.cos(angle)[:, None] * x + np.sin(angle)[:, None] * y
    rounded = ring_radius(1.0, sides) * profile[:, 0]
    vertices = point + rounded[:, None, None] * circle + profile[:, 1][:, None, None] * direction
    k, j = np.meshgrid(np.arange(len(profile) - 1), np.arange(sides), indexing="ij")
    on_axis = profile[:, 0] == 0.0

    def corner(row: IntArray, side: IntArray) -> IntArray:
        picked: IntArray = row * sides + np.where(on_axis[row], 0, side % sides)
        return picked

    faces = _quads(corner(k, j), corner(k + 1, j), corner(k + 1, j + 1), corner(k, j + 1))
    distinct = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return Mesh(vertices.reshape(-1, 3), faces[distinct])


def _quads(a: IntArray, b: IntArray, c: IntArray, d: IntArray) -> IntArray:
    faces: IntArray = np.stack([np.stack([a, b, c], -1), np.stack([a, c, d], -1)], axis=-2).reshape(-1, 3)
    return faces


def _transported_circles(directions: FloatArray, sides: int) -> FloatArray:
    """Return unit vectors around each segment's direction, carried without twist, (n - 1, sides, 3)."""
    angle = 2.0 * np.pi * np.arange(sides) / sides
    x, y, _ = frame_from_axis(directions[0])
    circle = np.cos(angle)[:, None] * x + np.sin(angle)[:, None] * y
    circles = [circle]
    for old, new in pairwise(directions):
        # Rodrigues' rotation that takes `old` to `new` in the plane of both.
        axis = np.cross(old, new)
        turned = np.cross(axis, circles[-1])
        circles.append(circles[-1] + turned + np.cross(axis, turned) / (1.0 + np.dot(old, new)))
    return np.stack(circles)


def _refuse_folds(directions: FloatArray, lengths: FloatArray, radius: FloatArray) -> None:
    turn = np.einsum("nk,nk->n", directions[:-1], directions[1:])
    if np.any(turn < SHARPEST_TURN):
        raise ValueError("the line turns back on itself by more than 150 degrees; add points to round the bend")
    half_tangent = np.sqrt(np.clip(1.0 - turn, 0.0, None) / (1.0 + turn))
    taken = np.concatenate([[0.0], radius[1:-1] * half_tangent, [0.0]])
    short = np.flatnonzero(taken[:-1] + taken[1:] >= lengths)
    if len(short):
        raise ValueError(
            f"the bend at point {max(int(short[0]), 1) + 1} is too tight for the radius: the tube would pass "
            "through itself; use a smaller radius or points farther apart"
        )
