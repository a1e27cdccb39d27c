"""Receivers of sections through the enclosure: upright under each lamp, level where an animal's back is."""

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from sim.compile.gathered import PROFILE_EFFORT, UP, Gathered, Keep, profile_groups
from sim.geometry.mesh import FloatArray
from sim.scene.check import Survey

CELLS = 32
"""Along the longest edge of the enclosure."""
LEAST_CELL = 0.005
DEPTH = 1.5
"""Of an upright section, over the size of a cell: what it averages over along its normal."""
SAME = 0.02
"""Sections nearer to each other than this are one [m]."""
MOST = 2
"""Sections of each of the three kinds, the first ones of the scene."""
CLEAR = 0.02
"""Room above the highest lamp [m]."""


def gather_sections(seen: Survey, keep: Keep, reach_down: Callable[[FloatArray, FloatArray], float]) -> list[Gathered]:
    """Return the receivers of all sections, which face up, and of the lines under the lamps; none in free space.

    Parameters
    ----------
    seen : Survey
    keep, reach_down : callable
        See `sim.compile.gathered.gather`.
    """
    lines = [replace(group, kind="section") for group in profile_groups(seen, reach_down)]
    if not seen.walls:
        return lines
    corners = np.concatenate([surface.mesh.vertices for surface in seen.walls])
    low, high = corners.min(axis=0), corners.max(axis=0)
    cell = max(float((high - low).max()) / CELLS, LEAST_CELL)
    strips = [*_upright(seen, low, high, cell), *_level(seen, low, high, cell)]
    return [*lines, *(_looked_at(strip.where(keep(strip.centre))) for strip in strips)]


def _looked_at(strip: Gathered) -> Gathered:
    """Return a strip without effort where all of it lies within bodies."""
    return strip if strip.area.any() else replace(strip, effort=0.0)


def _upright(seen: Survey, low: FloatArray, high: FloatArray, cell: float) -> Iterator[Gathered]:
    """Yield level strips one over another: a receiver that faces up is told by photons if it is level."""
    top = max(float(high[2]), *(float(shape.body.vertices[:, 2].max()) + CLEAR for shape in seen.lamps.values()))
    for axis in (1, 0):
        along = 1 - axis
        places = [float(shape.centre[axis]) for shape in seen.lamps.values()]
        for at in _distinct(place for place in places if low[axis] < place < high[axis]):
            count = max(4, round(float(high[along] - low[along]) / cell))
            rows = max(4, round((top - float(low[2])) / cell))
            step = (top - float(low[2])) / rows
            depth = min(DEPTH * cell, 2.0 * (at - float(low[axis])), 2.0 * (float(high[axis]) - at))
            for row in range(rows):
                corner = low.copy()
                corner[axis], corner[2] = at - 0.5 * depth, low[2] + (row + 0.5) * step
                u, v = np.zeros(3), np.zeros(3)
                u[along], v[axis] = high[along] - low[along], depth
                detail: dict[str, object] = {
                    "section": f"{'xy'[axis]}={at:.4f}",
                    "axis": axis,
                    "at": at,
                    "row": row,
                    "step": step,
                }
                yield _strip(f"section {detail['section']} {row}", corner, (u, v), (count, 1), detail)


def _level(seen: Survey, low: FloatArray, high: FloatArray, cell: float) -> Iterator[Gathered]:
    size = high - low
    shape = (max(4, round(float(size[0]) / cell)), max(4, round(float(size[1]) / cell)))
    edges = np.array([size[0], 0.0, 0.0]), np.array([0.0, size[1], 0.0])
    heights = [float(low[2]) + seen.scene.animal.back_height, *_zone_heights(seen)]
    for at in _distinct(height for height in heights if low[2] < height < high[2]):
        detail: dict[str, object] = {"section": f"z={at:.4f}", "axis": 2, "at": at}
        yield _strip(f"section {detail['section']}", np.array([low[0], low[1], at]), edges, shape, detail)


def _zone_heights(seen: Survey) -> Iterator[float]:
    """Yield where an animal's back is in zones that are level, basking places first."""
    surfaces = {surface.name: surface for surface in seen.surfaces}
    for zone in sorted(seen.scene.zones, key=lambda zone: zone.role != "basking"):
        if zone.box is not None:
            yield 0.5 * (zone.box[0][2] + zone.box[1][2])
            continue
        frame = surfaces[str(zone.surface)].frame
        if frame is not None and abs(float(frame.normal[2])) > 0.999:
            height = seen.scene.animal.back_height if zone.height is None else zone.height
            yield float(frame.origin[2] + height * frame.normal[2])


def _distinct(places: Iterator[float]) -> list[float]:
    kept: list[float] = []
    for place in places:
        if len(kept) < MOST and all(abs(place - other) > SAME for other in kept):
            kept.append(place)
    return kept


def _strip(
    name: str,
    corner: FloatArray,
    edges: tuple[FloatArray, FloatArray],
    shape: tuple[int, int],
    detail: dict[str, object],
) -> Gathered:
    du, dv = edges[0] / shape[0], edges[1] / shape[1]
    i, j = np.meshgrid(np.arange(shape[0]), np.arange(shape[1]), indexing="xy")
    origin = corner + i.reshape(-1, 1) * du + j.reshape(-1, 1) * dv
    count = len(origin)
    area = np.full(count, float(np.linalg.norm(np.cross(du, dv))))
    return Gathered(
        "section",
        name,
        origin,
        np.tile(du, (count, 1)),
        np.tile(dv, (count, 1)),
        np.tile(UP, (count, 1)),
        area,
        detail,
        shape=shape,
        effort=0.1 * PROFILE_EFFORT,
        outline=np.stack([corner, *edges]),
    )
