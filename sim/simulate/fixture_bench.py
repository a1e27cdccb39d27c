"""The bench for fixtures: a lamp with its reflectors at one watt, in a black sphere, over meters that look at it."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from sim.compile import CompiledScene, compile_scene
from sim.geometry.mesh import FloatArray
from sim.geometry.sweeps import revolved
from sim.lamps.any_lamp import Lamp
from sim.materials.law import Black
from sim.materials.surface import Surface
from sim.scene.check import Survey, survey
from sim.scene.model import Scene
from sim.sensors.sensor import Grid, Sensor
from sim.simulate.assemble import assemble, version
from sim.simulate.power import Found, Powers
from sim.simulate.run import STEP, Interrupted
from sim.simulate.tallies import REPLICATES, Tallies, empty_tallies
from sim.simulate.trace import Tracer, kernel_seed
from sim.tally.result import Meta, Result

AHEAD, BEHIND = "(ahead)", "(behind)"
"""Names of the two halves of a black sphere far around; no thing of a scene can be called so."""
SHELL = 1000.0
"""Radius of that sphere over the reach of everything in it, so that a half of it is a half space to a thousandth."""
SCOUT_ANGLE = 3.0
"""How far to either side light is looked for, over the distance."""


@dataclass(frozen=True)
class Effort:
    """How much to trace: photons in all, seed, pool of threads; `report` takes the share done, `stop` asks to end."""

    histories: int
    seed: int
    pool: ThreadPoolExecutor
    report: Callable[[float], None] = lambda share: None
    stop: Callable[[], bool] = lambda: False


@dataclass(frozen=True)
class Benched:
    """What one tracing of a bench left, per watt."""

    seen: Survey
    compiled: CompiledScene
    tallies: Tallies
    pool: ThreadPoolExecutor

    @property
    def result(self) -> Result:
        """The result at one watt."""
        one_watt = Powers(np.ones(1), np.zeros((1, REPLICATES)), (Found(),))
        meta = Meta(self.seen.scene.title, "", "", version(), 0, self.tallies.histories, REPLICATES)
        return assemble(self.seen, self.compiled, self.tallies, one_watt, meta, self.pool)


class Bench:
    """A lamp at one watt in its fixture, with meters under it and a black sphere far around.

    Attributes
    ----------
    distances : (d,) float [m]
    centre : (3,) float [m]
    facing, along, across : (3,) float, unit vectors square to each other
        Along its axis; across it, ``along x facing``.
    reach : float [m]
        Of all of its lamp and reflectors from the middle.
    spans : list of float [m]
        How long strips must be at each distance to hold all of its light, at most.
    """

    def __init__(self, scene: Scene, lamp: Lamp, finish: str | None, distances: FloatArray) -> None:
        self._scene, self._lamp, self._finish, self.distances = scene, lamp, finish, distances
        seen = survey(alone(scene, lamp, (), finish))
        shape = seen.lamps[lamp.name]
        self.centre, self.facing = shape.centre, shape.facing
        self.along = _square(shape.end - shape.start, shape.facing)
        self.across = np.cross(self.along, self.facing)
        meshes = [shape.body, *(surface.mesh for sheets in seen.reflectors.values() for surface in sheets)]
        self.reach = max(float(np.linalg.norm(mesh.vertices - self.centre, axis=1).max()) for mesh in meshes)
        self.spans = [2.0 * (SCOUT_ANGLE * float(distance) + self.reach) for distance in distances]
        self._shell = SHELL * (self.reach + max(self.spans))

    def trace(self, sensors: Sequence[Sensor], effort: Effort) -> Benched:
        """Trace it with some meters.

        Raises
        ------
        Interrupted
            If somebody stopped it.
        """
        seen = survey(alone(self._scene, self._lamp, sensors, self._finish))
        seen.parts["(shell)"] = list(self._halves())
        compiled = compile_scene(seen, only_sensors=True)
        tallies = empty_tallies(compiled)
        tracer = Tracer(compiled, tallies, kernel_seed(effort.seed), effort.pool)
        target = max(1, -(-effort.histories // REPLICATES))
        while (done := int(tallies.photons[0])) < target:
            tracer.step(0, min(target, done + STEP))
            effort.report(int(tallies.photons[0]) / target)
            if effort.stop():
                raise Interrupted
        return Benched(seen, compiled, tallies, effort.pool)

    def _halves(self) -> list[Surface]:
        angle = np.linspace(0.0, 0.5 * np.pi, 17)
        arc = self._shell * np.stack([np.sin(angle), np.cos(angle)], axis=1)
        arc[0, 0], arc[-1, 1] = 0.0, 0.0
        black = Black(kind="black")
        return [
            Surface(name, revolved(arc, self.centre, way, 64), black, measured=False)
            for name, way in ((AHEAD, self.facing), (BEHIND, -self.facing))
        ]


def alone(scene: Scene, lamp: Lamp, sensors: Sequence[Sensor], finish: str | None = None) -> Scene:
    """Return a lamp with its reflectors in free space."""
    sheets = [sheet for sheet in scene.reflectors if sheet.lamp == lamp.name]
    if finish is not None:
        sheets = [sheet.model_copy(update={"law": finish}) for sheet in sheets]
    return Scene.model_construct(
        title=f"fixture of {lamp.name}",
        note="",
        enclosure=None,
        laws=scene.laws,
        lamps=(lamp,),
        reflectors=tuple(sheets),
        parts=(),
        animal=scene.animal,
        sensors=tuple(sensors),
        zones=(),
        run=scene.run,
    )


def _square(axis: FloatArray, facing: FloatArray) -> FloatArray:
    """Return the unit part of an axis square to the facing, or any such direction for a lamp that faces along it."""
    for wanted in (axis, *np.eye(3)):
        part: FloatArray = wanted - (wanted @ facing) * facing
        length = float(np.linalg.norm(part))
        if length > 0.1 * float(np.linalg.norm(wanted)):
            return part / length
    raise AssertionError("a facing is a unit vector")


def strip(name: str, middle: FloatArray, edge_u: FloatArray, edge_v: FloatArray, cells: int) -> Grid:
    """Return a row of cells along `edge_u` about a middle, which faces ``edge_u x edge_v``."""
    keys = {"corner": middle - 0.5 * (edge_u + edge_v), "edge_u": edge_u, "edge_v": edge_v}
    lengths = {key: lengths_of(vector) for key, vector in keys.items()}
    return Grid.model_validate({"kind": "grid", "name": name, "cells": [cells, 1]} | lengths)


def lengths_of(point: FloatArray) -> list[str]:
    """Return a point as a scene file writes it."""
    return [f"{float(value)!r} m" for value in point]
