"""Whether an animal's back can be anywhere at all."""

from collections.abc import Iterable

from sim.geometry.mesh import FloatArray
from sim.materials.surface import Surface
from sim.scene.finding import Finding
from sim.scene.model import Scene
from sim.scene.room import Room

MOST_POINTS = 100
"""Places on a surface that are looked at."""


def reach_findings(scene: Scene, room: Room | None, surfaces: Iterable[Surface]) -> list[Finding]:
    """Return a warning where all that an animal can stand on leaves no room for its back.

    Parameters
    ----------
    scene : Scene
    room : Room, optional
        Its enclosure; None for free space.
    surfaces : iterable of Surface
        Of the enclosure and of the parts.
    """
    wanted, height = scene.animal.reach, scene.animal.back_height
    within = [surface for surface in surfaces if (surface.reachable if wanted is None else surface.name in wanted)]
    if room is None or not within:
        return []
    # Point by point: the first one nearly always lies within, and a room from a mesh takes its time for each.
    if any(room.holds(point[None]).all() for surface in within for point in _backs(surface, height)):
        return []
    message = (
        f"nothing is within reach: {100.0 * height:.4g} cm over {', '.join(surface.name for surface in within[:3])} is "
        f"outside the enclosure, which is {room.words} inside; lower it"
    )
    return [Finding("warning", ("animal", "back_height"), message)]


def _backs(surface: Surface, height: float) -> FloatArray:
    """Return where a back can be over some triangles of a surface, (n, 3) [m]."""
    normals = surface.mesh.normals
    raised: FloatArray = surface.mesh.corners.mean(axis=1) + height * normals
    upper = raised if surface.frame is not None else raised[normals[:, 2] > 0.0]
    return upper[:: max(1, len(upper) // MOST_POINTS)]
