"""Sections through an enclosure: UV index of a meter that faces up, over an upright or a level plane."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.analysis.maps import Maps, counted
from sim.tally.result import FloatArray, Geometry, Group
from sim.tally.statistics import estimate


@dataclass(frozen=True)
class Section:
    """A plane across an axis with a grid of readings; all lengths in metres.

    Attributes
    ----------
    axis : int
        That the plane is square to: 0 x, 1 y, 2 z.
    at : float
        Where on that axis.
    across, up : (float, float)
        Extent along the other two axes; `up` is z, or y where the plane is level.
    mean, se : (vertical, horizontal) float
        UV index, NaN within bodies and outside; both axes ascend.
    """

    axis: int
    at: float
    across: tuple[float, float]
    up: tuple[float, float]
    mean: FloatArray
    se: FloatArray

    @property
    def axes(self) -> tuple[int, int]:
        """The axes of the scene along `across` and `up`."""
        first, second = (axis for axis in range(3) if axis != self.axis)
        return first, second


def sections(maps: Maps) -> tuple[Section, ...]:
    """Return the sections of a result: upright ones first; none where it was stored without."""
    parts: dict[str, list[Group]] = {}
    for group in maps.result.of_kind("section"):
        name = (group.detail or {}).get("section")
        if name is not None:
            parts.setdefault(str(name), []).append(group)
    return tuple(_section(maps, groups) for groups in parts.values())


def _section(maps: Maps, groups: list[Group]) -> Section:
    detail: dict[str, Any] = groups[0].detail or {}
    axis, at = int(detail["axis"]), float(detail["at"])
    rows = [_cells(maps, group) for group in groups]
    mean, se = (np.concatenate([row[part] for row in rows]) for part in (0, 1))
    first = groups[0]
    along = 1 if axis == 0 else 0
    across = first.origin[along], first.origin[along] + max(first.edge_u[along], first.edge_v[along])
    if axis == 2:
        up = first.origin[1], first.origin[1] + first.edge_v[1]
    else:
        low = first.origin[2] - 0.5 * detail["step"]
        up = low, low + len(groups) * detail["step"]
    return Section(axis, at, across, up, mean, se)


def _cells(maps: Maps, group: Group) -> tuple[FloatArray, FloatArray]:
    found = estimate(maps.uvi[:, group.rows])
    there = counted(maps.result.area[group.rows]) & (maps.result.area[group.rows] > 0.0)
    shape = (group.shape[1], group.shape[0])
    return np.where(there, found.mean, np.nan).reshape(shape), np.where(there, found.se, np.nan).reshape(shape)


def outlines(geometry: Geometry, axis: int, at: float) -> FloatArray:
    """Return where the triangles of a scene cross a plane, as lines in it.

    Parameters
    ----------
    geometry : Geometry
    axis : int
        That the plane is square to.
    at : float [m]

    Returns
    -------
    (n, 2, 2) float [m]
        Two ends each, along the two other axes.
    """
    # A hair off, so that no corner lies in the plane.
    above = geometry.vertices[:, axis] - (at + 1.37e-7)
    one, two, three = (above[corner] for corner in geometry.faces.T)
    crossing = (np.minimum(np.minimum(one, two), three) < 0.0) & (np.maximum(np.maximum(one, two), three) > 0.0)
    faces = geometry.faces[crossing]
    corners, height = geometry.vertices[faces], above[faces]
    following, beyond = np.roll(corners, -1, axis=1), np.roll(height, -1, axis=1)
    cut = (height < 0.0) != (beyond < 0.0)
    share = height[cut] / (height[cut] - beyond[cut])
    points = corners[cut] + share[:, None] * (following[cut] - corners[cut])
    lines: FloatArray = np.delete(points, axis, axis=1).reshape(-1, 2, 2)
    return lines
