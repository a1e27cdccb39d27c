"""Checks of a valid scene that need geometry but no tracing."""

from dataclasses import dataclass, field
from functools import cached_property

from sim.furniture.imported import Imported
from sim.lamps.lamp import LampShape
from sim.materials.surface import Surface
from sim.scene.finding import Finding
from sim.scene.lighting import lighting_findings
from sim.scene.model import Scene
from sim.scene.placing import placing_findings
from sim.scene.reach_places import reach_findings
from sim.scene.receivers import MOST_RECEIVERS, box_cells, receiver_count
from sim.scene.room import Room, room_of
from sim.scene.zone_places import zone_findings


@dataclass
class Survey:
    """A scene with its geometry built, and what was found while building and looking.

    Attributes
    ----------
    scene : Scene
    findings : list of Finding
        Errors first, each in the scene's order.
    walls : list of Surface
        Those of the enclosure.
    parts, reflectors : dict of str to list of Surface
        By name; what could not be built is left out.
    lamps : dict of str to LampShape
    """

    scene: Scene
    findings: list[Finding] = field(default_factory=list)
    walls: list[Surface] = field(default_factory=list)
    parts: dict[str, list[Surface]] = field(default_factory=dict)
    reflectors: dict[str, list[Surface]] = field(default_factory=dict)
    lamps: dict[str, LampShape] = field(default_factory=dict)

    @property
    def surfaces(self) -> list[Surface]:
        """Surfaces of the enclosure and of the parts, in the scene's order."""
        return [*self.walls, *(surface for surfaces in self.parts.values() for surface in surfaces)]

    @property
    def well_placed_surfaces(self) -> list[Surface]:
        """The same without those of parts with an error: what lies on them would only repeat it."""
        wrong = {finding.where[:2] for finding in self.findings if finding.severity == "error"}
        kept = [part.name for index, part in enumerate(self.scene.parts) if ("parts", index) not in wrong]
        return [*self.walls, *(surface for name in kept for surface in self.parts[name])]

    @property
    def receivers(self) -> int:
        """Number of receivers on all surfaces and in all sensors."""
        return receiver_count(self.scene, self.surfaces)

    def mesh_notes(self) -> list[str]:
        """Return one line on each mesh file: its triangles and its size, which tells whether the unit was right."""
        notes = [part.description() for part in self.scene.parts if isinstance(part, Imported)]
        room = None if self.scene.enclosure is None else self.scene.enclosure.description()
        return notes if room is None else [room, *notes]

    @cached_property
    def room(self) -> Room | None:
        """The enclosure as a place; None in free space, or where its walls could not be built."""
        return room_of(self.scene, self.walls) if self.walls else None


def check(scene: Scene) -> list[Finding]:
    """Return what is wrong or doubtful in a scene, without tracing it; errors first.

    Parameters
    ----------
    scene : Scene
        A validated scene, such as `load_scene` returns.
    """
    return survey(scene).findings


def survey(scene: Scene) -> Survey:
    """Return a scene's geometry and all findings of its check."""
    seen = Survey(scene)
    _build_lamps(seen)
    _build_surfaces(seen)
    if not seen.findings:
        seen.findings += placing_findings(scene, seen.room, seen.parts, seen.lamps, seen.reflectors)
        seen.findings += zone_findings(scene, seen.room, seen.well_placed_surfaces)
        seen.findings += reach_findings(scene, seen.room, seen.well_placed_surfaces)
    seen.findings += lighting_findings(scene, seen.surfaces, [s for sheet in seen.reflectors.values() for s in sheet])
    seen.findings.sort(key=lambda finding: finding.severity)
    return seen


def _build_lamps(seen: Survey) -> None:
    scene = seen.scene
    for lamp in scene.lamps:
        seen.lamps[lamp.name] = lamp.shape()
    for index, reflector in enumerate(scene.reflectors):
        try:
            shape = None if reflector.lamp is None else seen.lamps[reflector.lamp]
            seen.reflectors[reflector.name] = reflector.surfaces(shape)
        except ValueError as error:
            seen.findings.append(Finding("error", ("reflectors", index), str(error)))


def _build_surfaces(seen: Survey) -> None:
    """Build walls and parts; stop once there are more receivers than a result can hold."""
    scene, size = seen.scene, seen.scene.run.receiver_size
    on_walls = box_cells(scene)
    if on_walls > MOST_RECEIVERS:
        seen.findings.append(_too_many(size, on_walls))
        return
    if scene.enclosure is not None:
        try:
            seen.walls += scene.enclosure.surfaces(size)
        except ValueError as error:
            seen.findings.append(Finding("error", ("enclosure", "mesh"), str(error)))
    for index, part in enumerate(scene.parts):
        if seen.receivers > MOST_RECEIVERS:
            break
        try:
            seen.parts[part.name] = part.surfaces(size)
        except ValueError as error:
            where = ("parts", index, "file") if "file" in type(part).model_fields else ("parts", index)
            seen.findings.append(Finding("error", where, str(error)))
    if seen.receivers > MOST_RECEIVERS:
        seen.findings.append(_too_many(size, seen.receivers))


def _too_many(size: float, receivers: int) -> Finding:
    message = (
        f"cells of {1000.0 * size:g} mm make {receivers} receivers, more than the {MOST_RECEIVERS} that a result "
        "can hold; raise receiver_size, or lessen the cells of grids"
    )
    return Finding("error", ("run", "receiver_size"), message)
