"""Whether zones lie where they say: on their surface, in the enclosure, below its ceiling."""

from collections.abc import Iterable, Iterator

import numpy as np

from sim.geometry.frame import Frame
from sim.geometry.mesh import FloatArray
from sim.materials.surface import Surface
from sim.scene.crossing import TOUCH
from sim.scene.finding import Finding
from sim.scene.model import Scene
from sim.scene.position import KeyPath
from sim.scene.receivers import is_measured
from sim.scene.room import Room
from sim.scene.zone import Zone


def zone_findings(scene: Scene, room: Room | None, surfaces: Iterable[Surface]) -> list[Finding]:
    """Return what is wrong with the places of zones.

    Parameters
    ----------
    scene : Scene
    room : Room, optional
        Its enclosure; None for free space.
    surfaces : iterable of Surface
        Of the enclosure and of the parts.
    """
    by_name = {surface.name: surface for surface in surfaces}
    findings: list[Finding] = []
    for index, zone in enumerate(scene.zones):
        where = ("zones", index)
        if zone.surface is None:
            findings += _of_box(where, zone, room)
        elif zone.surface in by_name:
            findings += _on_surface(scene, where, zone, by_name[zone.surface], room)
    return findings


def _of_box(where: KeyPath, zone: Zone, room: Room | None) -> Iterator[Finding]:
    if room is None or zone.box is None:
        return
    corners = np.array(np.meshgrid(*zip(*zone.box, strict=True))).reshape(3, -1).T
    if not room.holds(corners).all():
        message = f"reaches out of the enclosure; keep both corners within its {room.words}"
        yield Finding("error", (*where, "box"), message)


def _on_surface(scene: Scene, where: KeyPath, zone: Zone, surface: Surface, room: Room | None) -> Iterator[Finding]:
    if not is_measured(scene, surface):
        yield Finding("error", (*where, "surface"), f"nothing is measured on '{surface.name}'; name a wall or a part")
        return
    off = _off_surface(zone, surface)
    if off is not None:
        yield Finding("error", (*where, "region"), off)
        return
    height = scene.animal.back_height if zone.height is None else zone.height
    if room is not None and not room.holds(_raised(zone, surface, height)).any():
        key: KeyPath = (*where, "surface") if zone.height is None else (*where, "height")
        message = (
            f"{100.0 * height:.4g} cm over '{surface.name}' is outside the enclosure, which is {room.words} inside"
        )
        remedy = "lower animal.back_height or give the zone its own height" if zone.height is None else "lower it"
        yield Finding("error", key, f"{message}; {remedy}")


def _off_surface(zone: Zone, surface: Surface) -> str | None:
    if zone.region is None:
        return None
    if surface.frame is None:
        return f"'{surface.name}' is not flat, so it has no coordinates u, v; leave out 'region', or use a box"
    (u0, v0), (u1, v1) = zone.region
    width, depth = surface.frame.size
    if u0 >= -TOUCH and v0 >= -TOUCH and u1 <= width + TOUCH and v1 <= depth + TOUCH:
        return None
    return (
        f"reaches off '{surface.name}', which is {100.0 * width:.4g} cm along u and {100.0 * depth:.4g} cm along v; "
        "keep both corners on it"
    )


def _raised(zone: Zone, surface: Surface, height: float) -> FloatArray:
    """Return points of a zone at the height where it is judged, (n, 3) [m]."""
    if surface.frame is not None:
        return _region_corners(surface.frame, zone) + height * surface.frame.normal
    raised: FloatArray = surface.mesh.vertices + height * np.array([0.0, 0.0, 1.0])
    return raised


def _region_corners(frame: Frame, zone: Zone) -> FloatArray:
    width, depth = frame.size
    (u0, v0), (u1, v1) = zone.region or ((0.0, 0.0), (width, depth))
    u, v = frame.edge_u / width, frame.edge_v / depth
    return np.stack([frame.origin + a * u + b * v for a in (u0, u1) for b in (v0, v1)])
