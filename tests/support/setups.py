"""Scenes traced without the stop rule: compiled once, run with as many photons and as many seeds as a test likes."""

import tomllib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from sim.compile import CompiledScene, compile_scene
from sim.scene.check import Survey, survey
from sim.scene.model import Scene
from sim.simulate.assemble import assemble
from sim.simulate.power import Powers, lamp_powers
from sim.simulate.tallies import REPLICATES, Tallies, empty_tallies
from sim.simulate.trace import Tracer, kernel_seed
from sim.tally.result import Meta, Result
from sim.transport.arrays import BY_LINKS, BY_PATHS, F64


@dataclass(frozen=True)
class Setup:
    """A scene ready to be traced."""

    seen: Survey
    compiled: CompiledScene
    powers: Powers

    def tallies(self, photons: int, seed: int) -> Tallies:
        """Sums after so many photons of each lamp in each replicate, on one thread."""
        sums = empty_tallies(self.compiled)
        with ThreadPoolExecutor(max_workers=1) as pool:
            tracer = Tracer(self.compiled, sums, kernel_seed(seed), pool)
            for lamp in range(len(self.seen.scene.lamps)):
                tracer.step(lamp, photons)
        return sums

    def result(self, photons: int, seed: int) -> Result:
        sums = self.tallies(photons, seed)
        scene = self.seen.scene
        meta = Meta(scene.title, "test.toml", scene.digest, "0", seed, sums.histories, REPLICATES)
        return assemble(self.seen, self.compiled, sums, self.powers, meta)


def scene_of(text: str) -> Scene:
    """The scene of a text that names no files."""
    return Scene.model_validate(tomllib.loads(text))


def setup_of(text: str, plain: bool = False) -> Setup:
    """A scene of stated radiant powers, compiled; with `plain`, photons bring all light to surfaces."""
    seen = survey(scene_of(text))
    assert [finding for finding in seen.findings if finding.severity == "error"] == []
    return Setup(seen, compile_scene(seen, plain=plain), lamp_powers(seen.scene, _no_reading))


def by_paths(setup: Setup) -> Setup:
    """The same scene with every gathered receiver read by paths back into the scene, none by photons that cross it."""
    compiled = setup.compiled
    planes = compiled.model.planes
    none = type(planes)(*(array[:0] for array in planes))
    model = compiled.model._replace(planes=none)
    return replace(
        setup,
        compiled=replace(
            compiled,
            model=model,
            effort=np.ones(len(compiled.effort)),
            whole=np.ones(len(compiled.effort), dtype=np.bool_),
        ),
    )


def with_paths(setup: Setup) -> Setup:
    """The same scene with light by matt surfaces to planes brought by paths, and by photons what they alone find."""
    return _by(setup, BY_PATHS)


def with_links(setup: Setup) -> Setup:
    """The same scene with light by matt surfaces to planes brought by links, and by photons what they alone find."""
    return _by(setup, BY_LINKS)


def _by(setup: Setup, way: int) -> Setup:
    planes = len(setup.compiled.model.planes.cells)
    return replace(setup, compiled=setup.compiled.with_ways(np.full(planes, way)))


def _no_reading(scene: Scene, weighting: str, error: float) -> tuple[float, float]:
    raise AssertionError("give the lamp's power, not a reading of it")


def group_values(result: Result, kind: str, name: str) -> F64:
    """Mean irradiance of a group in each replicate, lamp and band, by area: (replicate, lamp, band) [W m-2]."""
    group = result.group(kind, name)  # type: ignore[arg-type]
    area = result.area[group.rows]
    weights = area / area.sum() if area.sum() > 0.0 else area + 1.0 / len(area)
    values: F64 = (result.irradiance[:, group.rows] * weights[:, None, None]).sum(axis=1, dtype=float)
    return values
