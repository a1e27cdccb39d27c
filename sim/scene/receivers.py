"""How many receivers a scene has."""

from collections.abc import Iterable

import numpy as np

from sim.materials.surface import Surface
from sim.sensors.sensor import Grid, Sensor

MOST_RECEIVERS = 2_000_000
"""More than this many do not fit a result: each holds a number for each lamp, band and replicate."""


def surface_receivers(surface: Surface) -> int:
    """Return the number of receivers on a surface; none where nothing is measured."""
    if not surface.measured:
        return 0
    if surface.frame is not None:
        return int(np.prod(surface.frame.shape))
    return int(surface.patches.max()) + 1 if surface.patches is not None and len(surface.patches) else 0


def receiver_count(surfaces: Iterable[Surface], sensors: Iterable[Sensor]) -> int:
    """Return the number of receivers on surfaces and in sensors."""
    cells = (sensor.cells[0] * sensor.cells[1] if isinstance(sensor, Grid) else 1 for sensor in sensors)
    return sum(map(surface_receivers, surfaces)) + sum(cells)
