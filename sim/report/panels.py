"""Panels: a surface's grid laid flat, in the scene's own coordinates, ready to be drawn."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.analysis.maps import Maps, counted
from sim.report.lengths import CENTIMETRES, LengthUnit
from sim.tally.result import FloatArray, Group, Result
from sim.tally.statistics import Estimate, estimate

AXES = ("x", "y", "z")


@dataclass(frozen=True)
class Mark:
    """An outline on a panel: what it is, and its extent along the two axes, in the panel's unit."""

    name: str
    across: tuple[float, float]
    up: tuple[float, float]


@dataclass(frozen=True)
class Panel:
    """A grid of UV indices over a rectangle.

    Attributes
    ----------
    group : Group
    values, se : (vertical, horizontal) float
        Mean and standard error, NaN where an opening takes the whole cell; both axes ascend.
    across, up : (float, float) [unit]
        Extent along the horizontal and the vertical axis of the page.
    axes : (str, str)
        What the two axes of the page are: ``"x"``, ``"y"``, ``"z"``, or ``"u"``, ``"v"`` on a tilted surface.
    level : float, optional [unit]
        Height of a level surface.
    marks : tuple of Mark
        Zones and lamps, for finding one's way.
    unit : LengthUnit
        Of all lengths of the panel.
    """

    group: Group
    values: FloatArray
    se: FloatArray
    across: tuple[float, float]
    up: tuple[float, float]
    axes: tuple[str, str]
    level: float | None = None
    marks: tuple[Mark, ...] = ()
    unit: LengthUnit = CENTIMETRES

    @property
    def name(self) -> str:
        """Name of the surface."""
        return self.group.name

    @property
    def size(self) -> tuple[float, float]:
        """Width and height [unit]."""
        return self.across[1] - self.across[0], self.up[1] - self.up[0]

    @property
    def cell_centres(self) -> tuple[FloatArray, FloatArray]:
        """Middles of the cells along the horizontal and the vertical axis [unit]."""
        rows, columns = self.values.shape
        return _middles(self.across, columns), _middles(self.up, rows)

    @property
    def highest(self) -> tuple[float, float, float]:
        """Middle of the highest cell along both axes [unit], and its value."""
        row, column = np.unravel_index(int(np.nanargmax(self.values)), self.values.shape)
        across, up = self.cell_centres
        return float(across[column]), float(up[row]), float(self.values[row, column])

    def transposed(self) -> "Panel":
        """Return the panel with its axes exchanged."""
        marks = tuple(Mark(mark.name, mark.up, mark.across) for mark in self.marks)
        axes = (self.axes[1], self.axes[0])
        turned = (self.values.T, self.se.T, self.up, self.across)
        return Panel(self.group, *turned, axes, self.level, marks, self.unit)


def _middles(extent: tuple[float, float], count: int) -> FloatArray:
    edges = np.linspace(*extent, count + 1)
    middles: FloatArray = 0.5 * (edges[1:] + edges[:-1])
    return middles


def has_grid(group: Group) -> bool:
    """Return whether a group's receivers form a grid that can be laid flat."""
    return group.shape[0] * group.shape[1] == group.count > 0


def panel(maps: Maps, group: Group, unit: LengthUnit = CENTIMETRES) -> Panel:
    """Return a group's grid of UV indices laid flat, see `laid_flat`.

    Parameters
    ----------
    maps : Maps
    group : Group
        With a grid, see `has_grid`.
    unit : LengthUnit
        To draw it in.
    """
    return laid_flat(maps.result, group, estimate(maps.uvi[:, group.rows]), unit)


def laid_flat(result: Result, group: Group, found: Estimate, unit: LengthUnit = CENTIMETRES) -> Panel:
    """Return a group's grid laid flat: upright walls stand upright, level surfaces are seen from above.

    Parameters
    ----------
    result : Result
    group : Group
        With a grid, see `has_grid`.
    found : Estimate
        Of its cells, (cell,).
    unit : LengthUnit
        To draw it in.
    """
    there = counted(result.area[group.rows])
    shape = (group.shape[1], group.shape[0])
    values = np.where(there, found.mean, np.nan).reshape(shape)
    se = np.where(there, found.se, np.nan).reshape(shape)
    edge_u, edge_v, origin = (unit.per_metre * np.array(part) for part in (group.edge_u, group.edge_v, group.origin))
    along_u, along_v = _axis(edge_u), _axis(edge_v)
    if along_u is None or along_v is None:
        lengths = float(np.linalg.norm(edge_u)), float(np.linalg.norm(edge_v))
        return Panel(group, values, se, (0.0, lengths[0]), (0.0, lengths[1]), ("u", "v"), unit=unit)
    flip = (slice(None, None, -1 if edge_v[along_v] < 0 else 1), slice(None, None, -1 if edge_u[along_u] < 0 else 1))
    flat = Panel(
        group,
        values[flip],
        se[flip],
        _extent(origin, edge_u, along_u),
        _extent(origin, edge_v, along_v),
        (AXES[along_u], AXES[along_v]),
        None if 2 in (along_u, along_v) else float(origin[2]),
        unit=unit,
    )
    return flat.transposed() if along_u > along_v else flat


def _axis(edge: FloatArray) -> int | None:
    """Return the coordinate that an edge runs along, or None where it is tilted."""
    lengths: npt.NDArray[np.float64] = np.abs(edge)
    along = int(np.argmax(lengths))
    return along if np.delete(lengths, along).max() <= 1e-6 * lengths[along] else None


def _extent(origin: FloatArray, edge: FloatArray, axis: int) -> tuple[float, float]:
    ends = sorted((float(origin[axis]), float(origin[axis] + edge[axis])))
    return ends[0], ends[1]
