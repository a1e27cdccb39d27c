"""Fields in the open: lines of equal value on grid sensors, and surfaces of equal value through stacks of them.

A grid sensor measures over a rectangle without blocking light. Three or more of them alike over each other span a field
in space.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyvista as pv

from sim.analysis.numbers import plain
from sim.analysis.selection import Selection
from sim.tally.result import FloatArray, Group
from viewer.callouts import Callout

STACK = 3
"""From so many grids alike a field in space is made."""
_SAME = 1e-6  # m
_LEVEL = "level"


@dataclass(frozen=True)
class Contours:
    """Lines or surfaces of equal value.

    Attributes
    ----------
    mesh : pyvista.PolyData [m]
        Cell or point data ``level`` tell the value.
    surface : bool
        Whether these are surfaces.
    callouts : tuple of Callout
        The value of each, at a place of it.
    """

    mesh: pv.PolyData
    surface: bool
    callouts: tuple[Callout, ...]


def grids(shown: Selection) -> tuple[Group, ...]:
    """Return the grid sensors with at least two cells along both edges."""
    sensors = shown.result.of_kind("sensor")
    return tuple(one for one in sensors if min(one.shape) >= 2 and one.shape[0] * one.shape[1] == one.count)


def stacks(found: Sequence[Group]) -> tuple[list[tuple[Group, ...]], list[Group]]:
    """Return grids that stand over each other, in order, and those that stand alone.

    Grids are alike if they have the same cells and edges, and origins along one line square to them.
    """
    left, piles = list(found), []
    while left:
        first = left[0]
        pile = [one for one in left if _over(first, one)]
        left = [one for one in left if one not in pile]
        normal = np.cross(first.edge_u, first.edge_v)
        piles.append(tuple(sorted(pile, key=lambda one: float(np.dot(one.origin, normal)))))
    tall = [pile for pile in piles if len(pile) >= STACK]
    return tall, [one for pile in piles if len(pile) < STACK for one in pile]


def _over(first: Group, other: Group) -> bool:
    if first.shape != other.shape:
        return False
    edges = [np.subtract(getattr(first, key), getattr(other, key)) for key in ("edge_u", "edge_v")]
    if max(float(np.abs(edge).max()) for edge in edges) > _SAME:
        return False
    apart = np.subtract(other.origin, first.origin)
    return all(abs(float(np.dot(apart, getattr(first, key)))) <= _SAME for key in ("edge_u", "edge_v"))


def contours(shown: Selection, levels: Sequence[float]) -> list[Contours]:
    """Return surfaces through stacks of grids and lines on single ones, at levels of what is shown.

    Parameters
    ----------
    shown : Selection
    levels : sequence of float
    """
    piles, alone = stacks(grids(shown))
    fields = [(_volume(shown, pile), True) for pile in piles] + [(_volume(shown, (one,)), False) for one in alone]
    found = []
    for field, surface in fields:
        inside = [level for level in levels if field[_LEVEL].min() < level < field[_LEVEL].max()]
        if inside:
            mesh = field.contour(inside, scalars=_LEVEL)
            if mesh.n_points:
                found.append(Contours(mesh, surface, tuple(_labels(mesh, inside, shown.unit))))
    return found


def _volume(shown: Selection, pile: Sequence[Group]) -> pv.StructuredGrid:
    """Return a field whose points are the middles of the cells."""
    nu, nv = pile[0].shape
    rows = np.concatenate([np.arange(one.first, one.first + one.count) for one in pile])
    grid = pv.StructuredGrid()
    grid.points = shown.result.centre[rows]
    grid.dimensions = (nu, nv, len(pile))
    grid.point_data[_LEVEL] = shown.numbers[rows]
    return grid


def _labels(mesh: pv.PolyData, levels: Sequence[float], unit: str) -> list[Callout]:
    values, points = np.asarray(mesh.point_data[_LEVEL]), np.asarray(mesh.points, dtype=np.float64)
    labels = []
    for level in levels:
        on_it: FloatArray = points[np.isclose(values, level, rtol=1e-5)]
        if len(on_it):
            x, y, z = on_it[int(np.argmax(on_it[:, 0] + on_it[:, 2]))]
            labels.append(Callout((float(x), float(y), float(z)), f"{plain(level)} {unit}".rstrip()))
    return labels
