"""A lamp with the reflectors that are attached to it, alone in free space: how it shines, and what it keeps."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from sim.analysis.fixture import FateKind, FixtureTrace, Strip
from sim.analysis.lit_band import full_width
from sim.analysis.maps import Maps
from sim.compile import CompiledScene, compile_scene
from sim.geometry.mesh import FloatArray
from sim.geometry.sweeps import revolved
from sim.lamps.any_lamp import Lamp
from sim.lamps.output import Output
from sim.materials.law import Black
from sim.materials.surface import Surface
from sim.scene.check import Survey, survey
from sim.scene.model import Scene
from sim.sensors.sensor import Grid, Point, Sensor
from sim.simulate.assemble import assemble, version
from sim.simulate.power import Found, Powers
from sim.simulate.run import STEP, Interrupted, solved_powers
from sim.simulate.tallies import REPLICATES, Tallies, empty_tallies
from sim.simulate.trace import Tracer, kernel_seed
from sim.tally.result import Meta, Result

AHEAD, BEHIND = "(ahead)", "(behind)"
"""Names of the two halves of a black sphere far around; no thing of a scene can be called so."""
SHELL = 1000.0
"""Radius of that sphere over the reach of everything in it, so that a half of it is a half space to a thousandth."""
CELLS = 64
SCOUT_CELLS = 128
SCOUT = 1024
"""Photons of each replicate in a first look for how wide the light is."""
SCOUT_ANGLE = 3.0
"""How far to either side that look goes, over the distance."""
MARGIN = 1.6
"""Length of a strip over the width that was found."""
NARROW = 0.2
"""Breadth of a strip over the width of the light in that direction: what it averages over costs 1 % of the height."""


@dataclass(frozen=True)
class Effort:
    """How much to trace: photons in all, seed, pool of threads; `report` takes the share done, `stop` asks to end."""

    histories: int
    seed: int
    pool: ThreadPoolExecutor
    report: Callable[[float], None] = lambda share: None
    stop: Callable[[], bool] = lambda: False


def trace_fixture(  # noqa: PLR0913  # two are keywords with a default
    scene: Scene, lamp: Lamp, distances: FloatArray, effort: Effort, *, finish: str | None = None, source: str = ""
) -> FixtureTrace:
    """Return what becomes of a lamp's light in its fixture.

    Parameters
    ----------
    scene : Scene
        A valid one. All that is not the lamp or attached to it is left out.
    lamp : Lamp
        One of its lamps.
    distances : (d,) float [m]
        Beyond the lamp, along its facing.
    effort : Effort
    finish : str, optional
        Name of a law that takes the place of that of the inside of its reflectors. The lamp's power is that with
        their own.
    source : str
        Name of the scene file.

    Raises
    ------
    SceneError
        If the power of the lamp cannot be solved from its readings.
    Interrupted
        If somebody stopped it.
    """
    powers = solved_powers(_alone(scene, lamp, ()), source, effort.seed, effort.stop, effort.pool)
    unit = lamp.model_copy(
        update={"output": Output.model_validate({"radiant": "1 W"}), "level": 1.0, "maintained": 1.0}
        | {"age": None, "warm_up": None}
    )
    bench = _Bench(scene, unit, finish, distances)
    wide = [(span, span) for span in bench.spans]
    scouted = bench.trace(wide, SCOUT_CELLS, replace(effort, histories=SCOUT * REPLICATES, report=lambda share: None))
    narrowed = [
        (_narrowed(across, span), _narrowed(along, span))
        for across, along, span in zip(*scouted.strips(), bench.spans, strict=True)
    ]
    traced = bench.trace(narrowed, CELLS, effort)
    across, along = traced.strips()
    kinds, names, fates = traced.fates()
    return FixtureTrace(
        scene=source,
        lamp=lamp.name,
        finish=finish or "",
        record=replace(
            traced.result.lamps[0],
            radiant_power=float(powers.watts[0]),
            notes=powers.found[0].notes,
        ),
        deviation=powers.spread[0],
        edges_nm=traced.result.edges_nm,
        kinds=kinds,
        names=names,
        fates=fates,
        distances=distances,
        uvi=traced.at_points(),
        across=across,
        along=along,
        histories=traced.tallies.histories,
    )


def _narrowed(strip: Strip, span: float) -> float:
    """Return the length that a strip needs, from a first look with one as long as `span` [m]."""
    width = full_width(strip.uvi.mean(axis=0), strip.step)
    return span if np.isnan(width) else min(span, MARGIN * width)


def _alone(scene: Scene, lamp: Lamp, sensors: Sequence[Sensor], finish: str | None = None) -> Scene:
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


class _Bench:
    """A lamp at one watt in its fixture, with meters under it and a black sphere far around."""

    def __init__(self, scene: Scene, lamp: Lamp, finish: str | None, distances: FloatArray) -> None:
        self._scene, self._lamp, self._finish, self._distances = scene, lamp, finish, distances
        seen = survey(_alone(scene, lamp, (), finish))
        shape = seen.lamps[lamp.name]
        self._centre, self._facing = shape.centre, shape.facing
        self._along = _square(shape.end - shape.start, shape.facing)
        self._across = np.cross(self._along, self._facing)
        meshes = [shape.body, *(surface.mesh for sheets in seen.reflectors.values() for surface in sheets)]
        reach = max(float(np.linalg.norm(mesh.vertices - self._centre, axis=1).max()) for mesh in meshes)
        self.spans = [2.0 * (SCOUT_ANGLE * float(distance) + reach) for distance in distances]
        self._shell = SHELL * (reach + max(self.spans))

    def trace(self, lengths: list[tuple[float, float]], cells: int, effort: Effort) -> "_Traced":
        """Trace it with strips of these lengths across and along at each distance [m]."""
        sensors = [sensor for row, pair in enumerate(lengths) for sensor in self._sensors(row, pair, cells)]
        seen = survey(_alone(self._scene, self._lamp, sensors, self._finish))
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
        steps = [(across / cells, along / cells) for across, along in lengths]
        return _Traced(seen, compiled, tallies, steps)

    def _sensors(self, row: int, lengths: tuple[float, float], cells: int) -> list[Sensor]:
        at = self._centre + self._distances[row] * self._facing
        point = {"kind": "point", "name": f"point {row}", "at": _lengths(at), "normal": [*map(float, -self._facing)]}
        across, along = lengths
        return [
            Point.model_validate(point),
            # Each looks at the lamp: with these signs edge_u x edge_v runs against the facing.
            _strip(f"across {row}", at, across * self._across, -NARROW * along / MARGIN * self._along, cells),
            _strip(f"along {row}", at, along * self._along, NARROW * across / MARGIN * self._across, cells),
        ]

    def _halves(self) -> list[Surface]:
        angle = np.linspace(0.0, 0.5 * np.pi, 17)
        arc = self._shell * np.stack([np.sin(angle), np.cos(angle)], axis=1)
        arc[0, 0], arc[-1, 1] = 0.0, 0.0
        black = Black(kind="black")
        return [
            Surface(name, revolved(arc, self._centre, way, 64), black, measured=False)
            for name, way in ((AHEAD, self._facing), (BEHIND, -self._facing))
        ]


@dataclass(frozen=True)
class _Traced:
    """What one tracing of a bench left, per watt."""

    seen: Survey
    compiled: CompiledScene
    tallies: Tallies
    steps: list[tuple[float, float]]

    @property
    def result(self) -> Result:
        one_watt = Powers(np.ones(1), np.zeros((1, REPLICATES)), (Found(),))
        meta = Meta(self.seen.scene.title, "", "", version(), 0, self.tallies.histories, REPLICATES)
        return assemble(self.seen, self.compiled, self.tallies, one_watt, meta)

    def strips(self) -> tuple[tuple[Strip, ...], tuple[Strip, ...]]:
        result = self.result
        uvi = Maps(result).uvi
        found = []
        for side, name in enumerate(("across", "along")):
            rows = [result.group("sensor", f"{name} {row}").rows for row in range(len(self.steps))]
            found.append(tuple(Strip(uvi[:, at], step[side]) for at, step in zip(rows, self.steps, strict=True)))
        return found[0], found[1]

    def at_points(self) -> FloatArray:
        result = self.result
        uvi = Maps(result).uvi
        return np.concatenate(
            [uvi[:, result.group("sensor", f"point {row}").rows] for row in range(len(self.steps))], axis=1
        )

    def fates(self) -> tuple[tuple[FateKind, ...], tuple[str, ...], FloatArray]:
        """Return kinds, names and shares of the photons, (replicate, fate, band); what slips by the seam is ahead."""
        tallies, names = self.tallies, self.compiled.surface_names
        known: dict[str, FateKind] = {AHEAD: "ahead", BEHIND: "behind"}
        known |= dict.fromkeys(self.seen.reflectors, "reflector")
        kinds = [known.get(name, "lamp") for name in names]
        live = self.compiled.model.emitters.live[0]
        booked = np.concatenate(
            [tallies.absorbed[0], tallies.escaped[0][:, None], tallies.unfinished[0][:, None]], axis=1
        )
        shares: FloatArray = booked / int(tallies.photons[0]) * live
        return (*kinds, "ahead", "unfinished"), (*names, "(seam)", "(unfinished)"), shares


def _square(axis: FloatArray, facing: FloatArray) -> FloatArray:
    """Return the unit part of an axis square to the facing, or any such direction for a lamp that faces along it."""
    for wanted in (axis, *np.eye(3)):
        part: FloatArray = wanted - (wanted @ facing) * facing
        length = float(np.linalg.norm(part))
        if length > 0.1 * float(np.linalg.norm(wanted)):
            return part / length
    raise AssertionError("a facing is a unit vector")


def _strip(name: str, middle: FloatArray, edge_u: FloatArray, edge_v: FloatArray, cells: int) -> Grid:
    keys = {"corner": middle - 0.5 * (edge_u + edge_v), "edge_u": edge_u, "edge_v": edge_v}
    lengths = {key: _lengths(vector) for key, vector in keys.items()}
    return Grid.model_validate({"kind": "grid", "name": name, "cells": [cells, 1]} | lengths)


def _lengths(point: FloatArray) -> list[str]:
    return [f"{float(value)!r} m" for value in point]
