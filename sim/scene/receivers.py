"""How many receivers a scene has."""

from collections.abc import Iterable

import numpy as np

from sim.geometry.frame import cells_of_size
from sim.materials.screen import Screen
from sim.materials.surface import Surface
from sim.scene.model import Scene
from sim.sensors.sensor import Grid

MOST_RECEIVERS = 2_000_000
"""More than this many do not fit a result: each holds a number for each lamp, band and replicate."""


def box_cells(scene: Scene) -> int:
    """Return about how many cells the walls of a box have, without building them; none without a box."""
    if scene.enclosure is None or scene.enclosure.size is None:
        return 0
    x, y, z = (cells_of_size(edge, scene.run.receiver_size) for edge in scene.enclosure.size)
    return 2 * (x * y + y * z + z * x)


def is_measured(scene: Scene, surface: Surface) -> bool:
    """Return whether irradiance is counted on a surface: not on screens, of which nothing but wire receives any."""
    return surface.measured and not isinstance(scene.law(surface.law), Screen)


def surface_receivers(scene: Scene, surface: Surface) -> int:
    """Return the number of receivers on a surface; none where nothing is measured."""
    if not is_measured(scene, surface):
        return 0
    if surface.frame is not None:
        return int(np.prod(surface.frame.shape))
    return int(surface.patches.max()) + 1 if surface.patches is not None and len(surface.patches) else 0


def receiver_count(scene: Scene, surfaces: Iterable[Surface]) -> int:
    """Return the number of receivers on surfaces and in the sensors of their scene."""
    cells = (sensor.cells[0] * sensor.cells[1] if isinstance(sensor, Grid) else 1 for sensor in scene.sensors)
    return sum(surface_receivers(scene, surface) for surface in surfaces) + sum(cells)
