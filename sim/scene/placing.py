"""Whether lamps, reflectors, parts and sensors stand where they can."""

from collections.abc import Collection, Iterator, Mapping

import numpy as np

from sim.geometry.mesh import FloatArray, Mesh, joined
from sim.lamps.lamp import LampShape
from sim.materials.surface import Surface
from sim.scene.crossing import bodies_cross, is_inside, lies_within
from sim.scene.finding import Finding
from sim.scene.model import Scene
from sim.scene.position import KeyPath
from sim.scene.room import Room, sample_points
from sim.sensors.sensor import Sensor

BOX_POINTS = 7
"""Places along each side of a zone's layer that are looked at: a part may hold its corners and not its middle."""
HAIR = np.array([1.1e-5, 0.7e-5, 1.7e-5])
"""A shift of a sheet along no axis of anything [m]."""


def placing_findings(
    scene: Scene,
    room: Room | None,
    parts: Mapping[str, list[Surface]],
    lamps: Mapping[str, LampShape],
    reflectors: Mapping[str, list[Surface]],
) -> list[Finding]:
    """Return what is wrong with the places of things.

    Parameters
    ----------
    scene : Scene
    room : Room, optional
        Its enclosure; None for free space.
    parts : mapping of str to list of Surface
        By name.
    lamps : mapping of str to LampShape
    reflectors : mapping of str to list of Surface
    """
    bodies = {name: joined([surface.mesh for surface in surfaces]) for name, surfaces in parts.items()}
    # A sheet, such as a pipe from a mesh file, encloses nothing: a lamp may be in it.
    solid = {name for name, surfaces in parts.items() if all(surface.closed for surface in surfaces)}
    findings: list[Finding] = []
    for index, _ in enumerate(scene.lamps):
        findings += _of_lamp(scene, index, lamps, bodies, solid)
    if room is not None:
        findings += _beside_walls(scene, room, bodies, lamps, reflectors)
    findings += _reflectors_through_lamps(scene, lamps, reflectors)
    findings += _sensors_in_lamps(scene, lamps)
    solids = {name: body for name, body in bodies.items() if name in solid}
    findings += _sensors_in_parts(scene, solids)
    findings += _boxes_in_parts(scene, solids)
    return findings


def _of_lamp(
    scene: Scene,
    index: int,
    lamps: Mapping[str, LampShape],
    parts: Mapping[str, Mesh],
    solid: Collection[str],
) -> Iterator[Finding]:
    where = ("lamps", index)
    body = lamps[scene.lamps[index].name].body
    others = [(f"part '{name}'", part, name in solid) for name, part in parts.items()]
    others += [(f"lamp '{lamp.name}'", lamps[lamp.name].body, True) for lamp in scene.lamps[:index]]
    for noun, other, encloses in others:
        if bodies_cross(body, other):
            yield Finding("error", where, f"its body runs into {noun}; move one of them clear of the other")
        elif encloses and lies_within(body, other):
            yield Finding("error", where, f"its body lies within {noun}; move one of them")
        elif not lamps[scene.lamps[index].name].open_body and lies_within(other, body):
            yield Finding("error", where, f"{noun} lies within its body; move one of them")


def _beside_walls(
    scene: Scene,
    room: Room,
    parts: Mapping[str, Mesh],
    lamps: Mapping[str, LampShape],
    reflectors: Mapping[str, list[Surface]],
) -> Iterator[Finding]:
    for index, lamp in enumerate(scene.lamps):
        yield from _lamp_beside_walls(("lamps", index), lamps[lamp.name].body, room)
    for index, part in enumerate(scene.parts):
        yield from _part_beside_walls(("parts", index), parts[part.name], room)
    for index, reflector in enumerate(scene.reflectors):
        wall = room.crossed_wall(joined([surface.mesh for surface in reflectors[reflector.name]]))
        if wall is not None:
            message = f"runs through the wall '{wall}'; the box is {room.words} inside"
            yield Finding("warning", ("reflectors", index), message)
    for index, sensor in enumerate(scene.sensors):
        if not room.holds(sensor_corners(sensor)).all():
            message = f"lies outside the enclosure, at least in part; it is {room.words} inside"
            yield Finding("warning", ("sensors", index), message)


def _lamp_beside_walls(where: KeyPath, body: Mesh, room: Room) -> Iterator[Finding]:
    wall = room.crossed_wall(body)
    if wall is not None:
        message = f"its body runs into the wall '{wall}'; move it in or out, or cut an opening that it fits through"
        yield Finding("error", where, f"{message} (the box is {room.words} inside)")
    elif not room.holds(sample_points(body)).any():
        dark = room.is_dark_to(body)
        if dark is not None:
            yield Finding(
                "error",
                where,
                f"lies outside, beyond the wall '{dark}', and no light can get in there; move it inside "
                f"({room.words}), give that wall a law of kind screen or sheet, or cut an opening",
            )


def _part_beside_walls(where: KeyPath, body: Mesh, room: Room) -> Iterator[Finding]:
    inside = room.holds(sample_points(body))
    low, high = 100.0 * body.bounds
    if not inside.any() and room.holds(body.bounds.mean(axis=0, keepdims=True)).all():
        size = " x ".join(f"{edge:.4g}" for edge in high - low)
        message = f"is {size} cm and reaches around the enclosure, which is {room.words} inside; check its size"
        yield Finding("error", where, f"{message}, of a mesh file 'unit' and 'scale'")
    elif not inside.any():
        middle = ", ".join(f"{axis} {at:.4g}" for axis, at in zip("xyz", (low + high) / 2.0, strict=True))
        message = f"lies outside the enclosure, its middle at {middle} cm; the box is {room.words} inside"
        yield Finding("error", where, message)
    elif not inside.all():
        message = f"reaches out of the enclosure, which is {room.words} inside; what is outside is traced, too"
        yield Finding("warning", where, message)


def _reflectors_through_lamps(
    scene: Scene, lamps: Mapping[str, LampShape], reflectors: Mapping[str, list[Surface]]
) -> Iterator[Finding]:
    """Yield a finding where a sheet cuts a lamp; that one on a lamp clears its own was seen when it was built."""
    for index, reflector in enumerate(scene.reflectors):
        sheet = joined([surface.mesh for surface in reflectors[reflector.name]])
        for name, shape in lamps.items():
            if name != reflector.lamp and _cuts(sheet, shape):
                message = f"it cuts through lamp '{name}'; move one of them clear of the other"
                yield Finding("error", ("reflectors", index), message)


def _cuts(sheet: Mesh, lamp: LampShape) -> bool:
    """Return whether a sheet goes through a lamp or lies wholly within it."""
    if not lamp.open_body and is_inside(sheet.vertices[sheet.faces[0, 0]], lamp.body):
        return True
    # A sheet right through a lamp's middle holds edges of its prism, which then only touch it; a hair off, they cross.
    moved = Mesh(sheet.vertices + HAIR, sheet.faces)
    return bodies_cross(sheet, lamp.body) or bodies_cross(moved, lamp.body)


def sensor_corners(sensor: Sensor) -> FloatArray:
    """Return the corners of a sensor's rectangle, (4, 3), or its point, (1, 3) [m]."""
    if sensor.kind == "point":
        return np.array([sensor.at])
    corner, u, v = (np.array(vector) for vector in (sensor.corner, sensor.edge_u, sensor.edge_v))
    return np.stack([corner, corner + u, corner + v, corner + u + v])


def _sensors_in_lamps(scene: Scene, lamps: Mapping[str, LampShape]) -> Iterator[Finding]:
    for index, sensor in enumerate(scene.sensors):
        for name, shape in lamps.items():
            if not shape.open_body and any(is_inside(point, shape.body) for point in sensor_corners(sensor)):
                yield Finding("error", ("sensors", index), f"lies within lamp '{name}'; move it out of the lamp's body")


def _sensors_in_parts(scene: Scene, solid: Mapping[str, Mesh]) -> Iterator[Finding]:
    """Yield a finding where a part holds all of a sensor; one that only reaches into it may be meant so."""
    for index, sensor in enumerate(scene.sensors):
        for name, body in solid.items():
            if all(is_inside(point, body) for point in sensor_corners(sensor)):
                yield Finding(
                    "warning", ("sensors", index), f"lies within part '{name}', where it is dark; move it out"
                )


def _boxes_in_parts(scene: Scene, solid: Mapping[str, Mesh]) -> Iterator[Finding]:
    """Yield a finding where a part holds all of the layer on which a zone in a box is judged."""
    for index, zone in enumerate(scene.zones):
        if zone.box is None:
            continue
        low, high = np.array(zone.box)
        x, y = np.meshgrid(*np.linspace(low[:2], high[:2], BOX_POINTS).T)
        layer = np.stack([x.ravel(), y.ravel(), np.full(x.size, 0.5 * (low[2] + high[2]))], axis=1)
        for name, body in solid.items():
            if all(is_inside(point, body) for point in layer):
                message = f"all of it lies within part '{name}', where no light comes; move it out"
                yield Finding("error", ("zones", index, "box"), message)
