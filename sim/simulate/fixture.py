"""A lamp with the reflectors that are attached to it, alone in free space: how it shines, and what it keeps."""

from dataclasses import dataclass, replace

import numpy as np

from sim.analysis.fixture import FateKind, FixtureTrace, Strip
from sim.analysis.lit_band import full_width
from sim.analysis.maps import Maps
from sim.analysis.spectral_share import UVI_BELOW_298
from sim.geometry.mesh import FloatArray
from sim.lamps.any_lamp import Lamp
from sim.lamps.output import Output
from sim.scene.model import Scene
from sim.sensors.sensor import Point, Sensor
from sim.simulate.fixture_bench import AHEAD, BEHIND, Bench, Benched, Effort, alone, lengths_of, strip
from sim.simulate.fixture_planes import fixture_planes
from sim.simulate.run import solved_powers
from sim.simulate.tallies import REPLICATES
from sim.spectra.weighting import Weighting
from sim.tally.result import Result

CELLS = 64
SCOUT_CELLS = 128
SCOUT = 1024
"""Photons of each replicate in a first look for how wide the light is."""
MARGIN = 1.6
"""Length of a strip over the width that was found."""
NARROW = 0.2
"""Breadth of a strip over the width of the light in that direction: what it averages over costs 1 % of the height."""


def trace_fixture(  # noqa: PLR0913  # three are keywords with a default
    scene: Scene,
    lamp: Lamp,
    distances: FloatArray,
    effort: Effort,
    *,
    finish: str | None = None,
    source: str = "",
    planes: bool = False,
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
    planes : bool
        Trace planes across the lamp and along it, too, for pictures of them.

    Raises
    ------
    SceneError
        If the power of the lamp cannot be solved from its readings.
    Interrupted
        If somebody stopped it.
    """
    powers = solved_powers(alone(scene, lamp, ()), source, effort.seed, effort.stop, effort.pool)
    unit = lamp.model_copy(
        update={"output": Output.model_validate({"radiant": "1 W"}), "level": 1.0, "maintained": 1.0}
        | {"age": None, "warm_up": None}
    )
    bench = Bench(scene, unit, finish, distances)
    wide = [(span, span) for span in bench.spans]
    scouted = _strips(
        bench, wide, SCOUT_CELLS, replace(effort, histories=SCOUT * REPLICATES, report=lambda share: None)
    )
    narrowed = [
        (_narrowed(across, span), _narrowed(along, span))
        for across, along, span in zip(*scouted.strips(), bench.spans, strict=True)
    ]
    traced = _strips(bench, narrowed, CELLS, effort)
    across, along = traced.strips()
    kinds, names, fates = traced.fates()
    return FixtureTrace(
        scene=source,
        lamp=lamp.name,
        finish=finish or "",
        record=replace(
            traced.result.lamps[0],
            radiant_power=float(powers.watts[0]),
            spectrum=traced.result.lamps[0].spectrum.scaled(float(powers.watts[0])),
            notes=powers.found[0].notes,
        ),
        deviation=powers.spread[0],
        edges_nm=traced.result.edges_nm,
        kinds=kinds,
        names=names,
        fates=fates,
        distances=distances,
        uvi=traced.at_points("uvi"),
        uvb=traced.at_points("uvb-320"),
        below_298=traced.at_points(UVI_BELOW_298),
        across=across,
        along=along,
        histories=traced.benched.tallies.histories,
        planes=fixture_planes(bench, effort) if planes else (),
    )


def _narrowed(strip: Strip, span: float) -> float:
    """Return the length that a strip needs, from a first look with one as long as `span` [m]."""
    width = full_width(strip.uvi.mean(axis=0), strip.step)
    return span if np.isnan(width) else min(span, MARGIN * width)


def _strips(bench: Bench, lengths: list[tuple[float, float]], cells: int, effort: Effort) -> "_Traced":
    """Trace a bench with strips of these lengths across and along at each distance [m]."""
    sensors = [sensor for row, pair in enumerate(lengths) for sensor in _sensors(bench, row, pair, cells)]
    steps = [(across / cells, along / cells) for across, along in lengths]
    return _Traced(bench.trace(sensors, effort), steps)


def _sensors(bench: Bench, row: int, lengths: tuple[float, float], cells: int) -> list[Sensor]:
    at = bench.centre + bench.distances[row] * bench.facing
    point = {"kind": "point", "name": f"point {row}", "at": lengths_of(at), "normal": [*map(float, -bench.facing)]}
    across, along = lengths
    return [
        Point.model_validate(point),
        # Each looks at the lamp: with these signs edge_u x edge_v runs against the facing.
        strip(f"across {row}", at, across * bench.across, -NARROW * along / MARGIN * bench.along, cells),
        strip(f"along {row}", at, along * bench.along, NARROW * across / MARGIN * bench.across, cells),
    ]


@dataclass(frozen=True)
class _Traced:
    """A bench with strips at each distance, traced."""

    benched: Benched
    steps: list[tuple[float, float]]

    @property
    def result(self) -> Result:
        return self.benched.result

    def strips(self) -> tuple[tuple[Strip, ...], tuple[Strip, ...]]:
        result = self.result
        uvi = Maps(result).uvi
        found = []
        for side, name in enumerate(("across", "along")):
            rows = [result.group("sensor", f"{name} {row}").rows for row in range(len(self.steps))]
            found.append(tuple(Strip(uvi[:, at], step[side]) for at, step in zip(rows, self.steps, strict=True)))
        return found[0], found[1]

    def at_points(self, weighting: Weighting | str) -> FloatArray:
        """Return a weighted irradiance at each point, (replicate, d)."""
        result = self.result
        values = Maps(result).of(weighting)
        return np.concatenate(
            [values[:, result.group("sensor", f"point {row}").rows] for row in range(len(self.steps))], axis=1
        )

    def fates(self) -> tuple[tuple[FateKind, ...], tuple[str, ...], FloatArray]:
        """Return kinds, names and shares of the photons, (replicate, fate, band); what slips by the seam is ahead."""
        tallies, names = self.benched.tallies, self.benched.compiled.surface_names
        known: dict[str, FateKind] = {AHEAD: "ahead", BEHIND: "behind"}
        known |= dict.fromkeys(self.benched.seen.reflectors, "reflector")
        kinds = [known.get(name, "lamp") for name in names]
        live = self.benched.compiled.model.emitters.live[0]
        booked = np.concatenate(
            [tallies.absorbed[0], tallies.escaped[0][:, None], tallies.unfinished[0][:, None]], axis=1
        )
        shares: FloatArray = booked / int(tallies.photons[0]) * live
        return (*kinds, "ahead", "unfinished"), (*names, "(seam)", "(unfinished)"), shares
