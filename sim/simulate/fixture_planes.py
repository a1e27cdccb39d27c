"""Planes through the middle of a lamp in its fixture, across it and along it, with meters that look back at it."""

from dataclasses import replace

import numpy as np

from sim.analysis.fixture import FixturePlane
from sim.analysis.maps import Maps
from sim.analysis.sections import outlines
from sim.geometry.mesh import FloatArray
from sim.sensors.sensor import Sensor
from sim.simulate.fixture_bench import Bench, Effort, strip
from sim.tally.result import Geometry

ROWS, COLUMNS = 24, 40
"""Cells along the facing up to the farthest distance, and square to it."""
WIDE = 1.5
"""Extent square to the facing, over the farthest distance, besides the fixture's own."""
BREADTH = 1.0
"""Of a strip along its normal, over the step between two of them."""
SHARE = 0.5
"""Of the photons of the fixture that its planes take on top."""
SEED = 15_485_863
"""On top of the fixture's own."""
AIR = 0.01
"""Shown behind the fixture [m]."""


def fixture_planes(bench: Bench, effort: Effort) -> tuple[FixturePlane, ...]:
    """Return the planes across and along, traced.

    Parameters
    ----------
    bench : Bench
    effort : Effort
        Of the fixture itself.

    Raises
    ------
    Interrupted
        If somebody stopped it.
    """
    step = float(bench.distances.max()) / ROWS
    sides = {"across": (bench.across, -bench.along), "along": (bench.along, bench.across)}
    # As far to either side for both, so that they can be told apart at a glance.
    length = WIDE * float(bench.distances.max()) + 2.0 * bench.reach
    sensors: list[Sensor] = [
        strip(
            f"{side} {row}",
            bench.centre + (row + 0.5) * step * bench.facing,
            length * lateral,
            BREADTH * step * normal,
            COLUMNS,
        )
        for side, (lateral, normal) in sides.items()
        for row in range(ROWS)
    ]
    wanted = replace(
        effort, histories=int(SHARE * effort.histories), seed=effort.seed + SEED, report=lambda share: None
    )
    result = bench.trace(sensors, wanted).result
    uvi = Maps(result).uvi
    found = []
    for side, (lateral, _) in sides.items():
        values = np.stack([uvi[:, result.group("sensor", f"{side} {row}").rows] for row in range(ROWS)], axis=1)
        lines = _lines(bench, result.geometry, lateral)
        found.append(_plane(side, values, (0.5 * length, step), lines))
    return tuple(found)


def _plane(side: str, values: FloatArray, extent: tuple[float, float], lines: FloatArray) -> FixturePlane:
    """Return a plane that also shows what lies behind the lamp's middle, where nothing is read."""
    half, step = extent
    behind = max(0, int(np.ceil((AIR - float(lines[:, :, 1].min(initial=0.0))) / step)))
    unread = np.full((values.shape[0], behind, values.shape[2]), np.nan)
    whole = np.concatenate([unread, values], axis=1)
    return FixturePlane(side, (-half, half), (-behind * step, values.shape[1] * step), whole, lines)


def _lines(bench: Bench, geometry: Geometry, lateral: FloatArray) -> FloatArray:
    """Return what a plane through the middle cuts of the fixture, lateral and distance [m]."""
    square = np.cross(bench.facing, lateral)
    turned = (geometry.vertices - bench.centre) @ np.stack([lateral, bench.facing, square], axis=1)
    lines = outlines(replace(geometry, vertices=turned), 2, 0.0)
    # Not the sphere around it.
    near = np.abs(lines).max(axis=(1, 2)) <= 2.0 * bench.reach
    kept: FloatArray = lines[near]
    return kept
