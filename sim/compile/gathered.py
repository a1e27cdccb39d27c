"""Receivers that block no light: sensors, zones, places within reach, and the line under each lamp."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from sim.compile.raised import BENT, BENT_IN_REACH, raised_over
from sim.geometry.frame import Frame, cells_of_size
from sim.geometry.mesh import FloatArray
from sim.materials.surface import Surface
from sim.scene.check import Survey
from sim.scene.zone import Zone
from sim.tally.result import GroupKind

BoolArray = npt.NDArray[np.bool_]
Keep = Callable[[FloatArray], BoolArray]
"""Tells which points, (n, 3), an animal's back can be at: within the enclosure and in no body."""

UP = np.array([0.0, 0.0, 1.0])
LEAST_CELLS = 4
"""A zone is cut into at least this many cells along each edge, so that its extremes and its share mean something."""
ZONE_EFFORT = 2.0
REACH_EFFORT = 1.0
PROFILE_EFFORT = 0.25
"""Shares of the paths: a point or plane takes 1, a zone, all places within reach together, and a profile take these."""
GRID_EFFORT = 0.125
"""A grid takes this for each of its cells, since each of them is read."""
LEAST_CROSSED = 25e-4
"""A flat group of this area [m2] or more is read by the photons that cross it."""
PROFILE_STEP = 0.025
"""Distance of the points under a lamp [m]."""
CLEAR = 1e-3
"""Beyond the lamp's body by this much [m], since a prism stands a little proud of its circle."""
FREE_PROFILE = 1.0
"""Length of that line where no surface ends it [m]."""


@dataclass(frozen=True)
class Gathered:
    """A group of receivers before it has rows.

    Attributes
    ----------
    kind, name, detail : as in Group
    origin, edge_u, edge_v, normal : (n, 3) float
        Parallelograms; edges of zero length make a point.
    area : (n,) float [m2]
        What each stands for in means over the group; zeros count equally.
    shape : (int, int)
        Cells along u and v if they form a grid over `outline`.
    effort : float
        Share of the paths that the whole group gets, relative to others.
    outline : (3, 3) float
        Origin and edges of the grid that it was cut from.
    at_lamp : bool
        Whether it touches lit faces of a lamp, see `sim.compile.beside_lamps`.
    """

    kind: GroupKind
    name: str
    origin: FloatArray
    edge_u: FloatArray
    edge_v: FloatArray
    normal: FloatArray
    area: FloatArray
    detail: dict[str, Any]
    shape: tuple[int, int] = (0, 0)
    effort: float = 1.0
    outline: FloatArray | None = None
    at_lamp: bool = False

    @property
    def is_crossed(self) -> bool:
        """Whether photons that cross it tell its irradiance: flat, facing square to its plane, not tiny, at no lamp.

        All others are reached by paths back.
        """
        if self.shape == (0, 0) or self.outline is None or self.at_lamp or float(self.area.sum()) < LEAST_CROSSED:
            return False
        across = np.cross(self.outline[1], self.outline[2])
        return abs(float(across @ self.normal[0])) > (1.0 - 1e-9) * float(np.linalg.norm(across))

    @property
    def centre(self) -> FloatArray:
        """Centres of the receivers, (n, 3) [m]."""
        return self.origin + 0.5 * (self.edge_u + self.edge_v)

    def where(self, keep: BoolArray) -> "Gathered":
        """Return the group without the receivers that are not kept.

        A grid stays whole, so that it can be drawn: a cell that is left out loses its area, and with it its say.
        """
        if keep.all():
            return self
        if self.shape != (0, 0):
            return replace(self, area=np.where(keep, self.area, 0.0))
        kept = {key: getattr(self, key)[keep] for key in ("origin", "edge_u", "edge_v", "normal", "area")}
        return replace(self, **kept)


def gather(seen: Survey, keep: Keep, reach_down: Callable[[FloatArray, FloatArray], float]) -> list[Gathered]:
    """Return all gathered groups of a scene: sensors, zones, reach, profiles.

    Parameters
    ----------
    seen : Survey
    keep : callable
        See `Keep`.
    reach_down : callable
        Distance [m] from a point in a direction to what stops light; infinite where nothing does.

    Raises
    ------
    ValueError
        If all of a zone lies within bodies.
    """
    return [*sensor_groups(seen), *_zones(seen, keep), *_reach(seen, keep), *profile_groups(seen, reach_down)]


def sensor_groups(seen: Survey) -> Iterator[Gathered]:
    """Yield the sensors of a scene."""
    centres = {name: shape.centre for name, shape in seen.lamps.items()}
    for sensor in seen.scene.sensors:
        patch = sensor.receivers(centres)
        shape = sensor.cells if sensor.kind == "grid" else (1, 1) if sensor.kind == "plane" else (0, 0)
        area = np.linalg.norm(np.cross(patch.edge_u, patch.edge_v), axis=1)
        outline = np.stack([patch.origin[0], patch.edge_u[0] * shape[0], patch.edge_v[0] * shape[1]])
        yield Gathered(
            "sensor",
            sensor.name,
            *(patch.origin, patch.edge_u, patch.edge_v, patch.normal, area),
            detail={"kind": sensor.kind},
            shape=shape,
            effort=max(1.0, GRID_EFFORT * len(area)),
            outline=outline,
        )


Rectangle = tuple[FloatArray, FloatArray, FloatArray]
"""Corner and two edges, (3,) each [m]."""


def _cut(kind: GroupKind, name: str, rectangle: Rectangle, size: float, least: int) -> Gathered:
    """Return a rectangle cut into cells of about `size`, at least `least` along each edge, facing up."""
    corner, u, v = rectangle
    lengths = float(np.linalg.norm(u)), float(np.linalg.norm(v))
    shape = (max(least, cells_of_size(lengths[0], size)), max(least, cells_of_size(lengths[1], size)))
    i, j = np.meshgrid(np.arange(shape[0]), np.arange(shape[1]), indexing="xy")
    du, dv = u / shape[0], v / shape[1]
    origin = corner + i.reshape(-1, 1) * du + j.reshape(-1, 1) * dv
    count = len(origin)
    edges = (np.tile(du, (count, 1)), np.tile(dv, (count, 1)), np.tile(UP, (count, 1)))
    area = np.full(count, lengths[0] * lengths[1] / count)
    return Gathered(kind, name, origin, *edges, area, {}, shape=shape, outline=np.stack(rectangle))


def _looking(group: Gathered, normal: FloatArray) -> Gathered:
    return replace(group, normal=np.tile(normal, (len(group.origin), 1)))


def _zones(seen: Survey, keep: Keep) -> Iterator[Gathered]:
    surfaces = {surface.name: surface for surface in seen.surfaces}
    for index, zone in enumerate(seen.scene.zones):
        group = _zone(seen, zone, surfaces)
        kept = keep(group.centre)
        if not kept.any():
            raise ValueError(
                f"zones[{index}]: all of '{zone.name}' lies within bodies or outside the enclosure, where no light "
                "comes; move it, or judge it at a greater height"
            )
        yield group.where(kept)


def _zone(seen: Survey, zone: Zone, surfaces: dict[str, Surface]) -> Gathered:
    height = seen.scene.animal.back_height if zone.height is None else zone.height
    size = seen.scene.run.receiver_size
    if zone.box is not None:
        low, high = np.array(zone.box[0]), np.array(zone.box[1])
        height = 0.5 * float(low[2] + high[2])
        sides = np.array([high[0] - low[0], 0.0, 0.0]), np.array([0.0, high[1] - low[1], 0.0])
        group = _cut("zone", zone.name, (np.array([low[0], low[1], height]), *sides), size, LEAST_CELLS)
    else:
        surface = surfaces[str(zone.surface)]
        if surface.frame is None:
            group = _over_patches("zone", zone.name, surface, height)
        else:
            raised = _region(surface.frame, zone, height)
            group = _looking(_cut("zone", zone.name, raised, size, LEAST_CELLS), surface.frame.normal)
        group = _looking(group, UP) if zone.facing == "up" else group
    return replace(group, detail=_detail(zone, height), effort=ZONE_EFFORT)


def _region(frame: Frame, zone: Zone, height: float) -> Rectangle:
    width, depth = frame.size
    (u0, v0), (u1, v1) = zone.region or ((0.0, 0.0), (width, depth))
    u, v = frame.edge_u / width, frame.edge_v / depth
    return frame.origin + u0 * u + v0 * v + height * frame.normal, (u1 - u0) * u, (v1 - v0) * v


def _detail(zone: Zone, height: float) -> dict[str, Any]:
    wanted = zone.wanted
    return {
        "role": zone.role,
        "mean": None if wanted is None or wanted.band is None else list(wanted.band),
        "max": None if wanted is None else wanted.highest,
        "share": None if wanted is None else wanted.share,
        "height_m": height,
        "surface": zone.surface,
    }


def _over_patches(kind: GroupKind, name: str, surface: Surface, height: float, bent: float = BENT) -> Gathered:
    """Return receivers over the upper parts of a surface that is not flat; each looks as what is below it does."""
    return Gathered(kind, name, *raised_over(surface, height, bent), detail={})


def _reach(seen: Survey, keep: Keep) -> Iterator[Gathered]:
    scene = seen.scene
    wanted = scene.animal.reach
    surfaces = [s for s in seen.surfaces if (s.reachable if wanted is None else s.name in wanted)]
    for surface in surfaces:
        group = _over(surface, scene.animal.back_height, scene.run.receiver_size, REACH_EFFORT / len(surfaces))
        kept = keep(group.centre)
        if kept.any():
            yield group.where(kept)


def _over(surface: Surface, height: float, size: float, effort: float) -> Gathered:
    """Return receivers where an animal's back can be over a surface, looking as the surface does."""
    if surface.frame is None:
        return replace(_over_patches("reach", surface.name, surface, height, BENT_IN_REACH), effort=effort)
    frame = surface.frame
    raised = (frame.origin + height * frame.normal, frame.edge_u, frame.edge_v)
    return replace(_looking(_cut("reach", surface.name, raised, size, 1), frame.normal), effort=effort)


def profile_groups(seen: Survey, reach_down: Callable[[FloatArray, FloatArray], float]) -> Iterator[Gathered]:
    """Yield points on a line from each lamp the way it faces, up to what stops its light."""
    for lamp in seen.scene.lamps:
        shape = seen.lamps[lamp.name]
        start = lamp.reach + PROFILE_STEP
        end = min(reach_down(shape.centre + (lamp.reach + CLEAR) * shape.facing, shape.facing), FREE_PROFILE)
        distances = np.arange(start, lamp.reach + end, PROFILE_STEP)
        if len(distances) < 2:
            continue
        points = shape.centre + distances[:, None] * shape.facing
        zero = np.zeros_like(points)
        normal = np.tile(-shape.facing, (len(points), 1))
        detail = {"kind": "profile", "lamp": lamp.name}
        yield Gathered(
            "sensor", f"under {lamp.name}", points, zero, zero, normal, zero[:, 0], detail, effort=PROFILE_EFFORT
        )
