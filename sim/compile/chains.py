"""The table by which chains of plane mirrors and panes are drawn, see `sim.transport.chains`.

How often a chain goes which way follows from what it may bring: a side that cannot see the lamp ends no chain, and one
from which nothing leads on to such a side is on none. What the surfaces return is averaged over all directions; any
such guess is good enough to draw by, the estimate of light stays true for all of them.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.compile.surfaces import Catalogue
from sim.geometry.mesh import FloatArray
from sim.transport.arrays import Emitters, Laws, Mirrors
from sim.transport.chains import (
    ALONE,
    BALL,
    CORNERS,
    FIRST,
    FOLLOWS,
    LEVEL,
    MOST_CORNERS,
    NORMAL,
    OFTEN,
    OUTLINE,
    RETURNS,
    SURFACE,
    WORTH,
)

BoolArray = npt.NDArray[np.bool_]

MOST_PLANES = 16
"""Surfaces of which chains are made, those that turn the most light."""
DIM_OFTEN = 0.25
"""How much rarer chains are drawn where all surfaces return as little as panes: what they bring is dim."""
FLAT = 1e-9
"""What is bent by less than this [m] is plane."""
LEAST, MOST = 0.3, 0.98
"""Bounds of what a side is taken to return: light that grazes a pane returns more often than most, and a chain has to
end."""
ROUNDING = 1e-9
"""More than rounding [m]."""
SWEEPS = 200
"""So many turns are looked ahead to tell what going on may bring."""


@dataclass(frozen=True)
class _Sides:
    """Both sides of plane surfaces, those that turn light: rows, unit normals, levels along them, what they return."""

    row: npt.NDArray[np.int64]
    normal: FloatArray
    level: FloatArray
    returns: FloatArray
    outlines: list[FloatArray]

    def sees(self, points: FloatArray) -> BoolArray:
        """Return which sides some of the points, (n, 3), lie before, (sides,)."""
        seen: BoolArray = ((points @ self.normal.T).max(axis=0) - self.level) > FLAT
        return seen


def with_chains(mirrors: Mirrors, catalogue: Catalogue, laws: Laws, emitters: Emitters) -> Mirrors:
    """Return the plane mirrors with each lamp's table of sides; an empty one where no chain can bring its light."""
    sides = _plane_sides(catalogue, laws)
    if not len(sides.row):
        return mirrors
    follows = _follows(sides)
    by_image = np.isin(sides.row, mirrors.surface)
    lit = [_lit_corners(emitters, lamp) for lamp in range(len(emitters.area))]
    tables = np.array([_table(sides, follows, by_image, corners) for corners in lit])
    if not (tables[:, :, FIRST] > 0.0).any():
        return mirrors
    return mirrors._replace(chain=tables)


def _plane_sides(catalogue: Catalogue, laws: Laws) -> _Sides:
    """Return the sides of plane surfaces that turn light like a mirror."""
    found = []
    for row, entry in enumerate(catalogue.entries):
        if entry.lamp >= 0:
            continue
        mesh = entry.surface.mesh
        normal = mesh.normals[0]
        returns = [_returned(laws, catalogue.law_row(law)) for law in entry.laws]
        if max(returns) > 0.0 and np.ptp(mesh.vertices @ normal) < FLAT:
            found.append((-float(mesh.areas.sum()) * max(returns), row, returns, normal, mesh.vertices))
    rows, normals, levels, shares, outlines = [], [], [], [], []
    for _, row, returns, normal, corners in sorted(found, key=lambda item: item[:2])[:MOST_PLANES]:
        for share, sign in zip(returns, (1.0, -1.0), strict=True):
            if share > 0.0:
                rows.append(row)
                normals.append(sign * normal)
                levels.append(float(sign * normal @ corners[0]))
                shares.append(share)
                outlines.append(_outline(corners, normal))
    return _Sides(
        np.array(rows, dtype=np.int64), np.array(normals).reshape(-1, 3), np.array(levels), np.array(shares), outlines
    )


def _returned(laws: Laws, law: int) -> float:
    """Return about what share of light a law turns like a plane mirror: the mean over directions, the best band's."""
    row = laws.specular_row[law]
    if row < 0 or laws.specular[row, ..., 0].max() <= 0.0:
        return 0.0
    cosine = np.linspace(0.0, 1.0, laws.specular.shape[3])
    mean = (laws.specular[row, ..., 0] * cosine).sum(axis=-1) / cosine.sum()
    return float(np.clip(mean.max(), LEAST, MOST))


def _follows(sides: _Sides) -> BoolArray:
    """Return which side, (row), may turn light on to which other: some of each lies before the other."""
    sees = np.array([sides.sees(outline) for outline in sides.outlines])
    other = sides.row[:, None] != sides.row[None, :]
    follows: BoolArray = sees & sees.T & other
    return follows


def _lit_corners(emitters: Emitters, lamp: int) -> FloatArray:
    """Return the corners of a lamp's lit faces; of a triangle one too many, which does no harm."""
    rows = slice(int(emitters.first[lamp]), int(emitters.first[lamp + 1]))
    corner, one, two = emitters.corner[rows], emitters.edge1[rows], emitters.edge2[rows]
    return np.concatenate([corner, corner + one, corner + two, corner + one + two])


def _table(sides: _Sides, follows: BoolArray, by_image: BoolArray, lit: FloatArray) -> FloatArray:
    """Return the table of one lamp, (sides, columns), with lit corners (n, 3)."""
    count, ends = len(sides.row), sides.sees(lit)
    worth = np.zeros(count)
    for _ in range(SWEEPS):
        # A ray that goes on meets one of the others, most often.
        worth = sides.returns * (ends + (follows * worth).max(axis=1, initial=0.0))
    on = (follows * worth).max(axis=1, initial=0.0)
    table = np.zeros((count, FOLLOWS + count))
    table[:, SURFACE], table[:, NORMAL : NORMAL + 3], table[:, LEVEL] = sides.row, sides.normal, sides.level
    table[:, RETURNS], table[:, WORTH], table[:, ALONE] = sides.returns, worth, ~by_image
    table[:, FIRST] = sides.returns * ((ends & ~by_image) + on)
    centre = 0.5 * (lit.min(axis=0) + lit.max(axis=0))
    table[:, BALL : BALL + 3], table[:, BALL + 3] = centre, np.linalg.norm(lit - centre, axis=1).max() + ROUNDING
    for side, outline in enumerate(sides.outlines):
        table[side, CORNERS] = len(outline)
        table[side, OUTLINE : OUTLINE + 3 * len(outline)] = outline.ravel()
    table[:, OFTEN] = 1.0 if sides.returns.max() > LEAST else DIM_OFTEN
    table[:, FOLLOWS:] = follows
    return table


def _outline(vertices: FloatArray, normal: FloatArray) -> FloatArray:
    """Return a convex outline around points of a plane, (corners, 3): their hull, or a rectangle if it has many."""
    along = np.cross(normal, np.eye(3)[np.argmin(np.abs(normal))])
    along /= np.linalg.norm(along)
    across = np.cross(normal, along)
    flat = np.unique(np.round((vertices - vertices[0]) @ np.stack([along, across], axis=1), 12), axis=0)
    hull = _hull(flat)
    if len(hull) > MOST_CORNERS:
        (left, low), (right, high) = flat.min(axis=0), flat.max(axis=0)
        hull = np.array([(left, low), (right, low), (right, high), (left, high)])
    outline: FloatArray = vertices[0] + hull @ np.stack([along, across])
    return outline


def _hull(points: FloatArray) -> FloatArray:
    """Return the corners of the convex hull of sorted points, (n, 2) (A. Andrew, Inf. Process. Lett. 9:216, 1979)."""
    halves = []
    for row in (points, points[::-1]):
        half: list[FloatArray] = []
        for point in row:
            while len(half) > 1 and _area(half[-2], half[-1], point) <= ROUNDING**2:
                half.pop()
            half.append(point)
        halves += half[:-1]
    return np.array(halves)


def _area(a: FloatArray, b: FloatArray, c: FloatArray) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
