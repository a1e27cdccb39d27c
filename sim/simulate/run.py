"""Tracing a scene from first to last photon."""

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sim.analysis.maps import Maps
from sim.compile import Bodies, CompiledScene, compile_bodies, compile_scene
from sim.scene.check import Survey, survey
from sim.scene.fault import SceneError, key_text
from sim.scene.model import Scene
from sim.simulate.assemble import Traced, assemble, version
from sim.simulate.checkpoint import load_checkpoint, run_key, save_checkpoint
from sim.simulate.glimpses import Glimpses
from sim.simulate.pilot import chosen_ways
from sim.simulate.power import READING_ERROR, FloatArray, Found, Powers, lamp_powers
from sim.simulate.readings import Readings
from sim.simulate.sections import traced_sections
from sim.simulate.stop_rule import judged_groups, largest_error
from sim.simulate.tallies import REPLICATES, Tallies, empty_tallies, memory_fault
from sim.simulate.trace import Tracer, kernel_seed
from sim.tally.result import Group, Meta, Result

if TYPE_CHECKING:
    from sim.transport.gpu.card import Card

STEP = 4096
"""Photons of a lamp in each replicate between two looks at progress, Ctrl-C and the clock."""
CARD_STEP = 65_536
"""The same where a card traces: enough to keep it busy."""
FIRST_LOOK = 256
"""Photons of a lamp in each replicate before the error is looked at for the first time."""
LEAST_MORE = 1.1
"""Photons up to the next look at the error, at least, over those before. The error that is seen has an error of a tenth
itself: with smaller steps luck would end more runs, with larger ones they would do more than they were asked for. As it
is, 95 % intervals hold the truth as often as they say, and runs take a tenth more photons than it takes in the mean."""
SAVE_EVERY_S = 60.0
READING_HISTORIES = 20_000_000
READING_SEED = 7919
READING_SHARE = 0.3
"""Of the error that a run is to reach: at this a lamp's reading counts as solved. It adds 5 % to the run's own."""
MOST_READING_ERROR = 0.01
NO_LIMIT = 10**13


class Interrupted(Exception):  # not an error: somebody asked for it
    """A run was stopped before there was anything to keep."""


@dataclass(frozen=True)
class Progress:
    """How far a run is.

    Attributes
    ----------
    histories : int
        Photons traced.
    share : float
        Of the whole run, 0 … 1; an estimate where an error is asked for.
    error : float, optional
        Largest relative standard error so far, where one is asked for.
    """

    histories: int
    share: float
    error: float | None


@dataclass
class _Run:
    """A run under way."""

    seen: Survey
    compiled: CompiledScene
    tallies: Tallies
    powers: Powers
    seed: int
    source: str
    report: Callable[[Progress], None]
    stop: Callable[[], bool]
    checkpoint: Path | None
    saved_at: float = 0.0
    error: float | None = None
    points_only: bool = False
    card: "Card | None" = None
    glimpses: Glimpses | None = None
    goal: int | None = None
    """Photons of each lamp in each replicate that the whole run will take, where that is known or guessed."""

    @property
    def key(self) -> str:
        return run_key(self.seen.scene.digest, self.seed, version(), self.card is not None)

    def result(
        self, pool: ThreadPoolExecutor, wanted: tuple[Group, ...] | None = None, more: Traced | None = None
    ) -> Result:
        scene = self.seen.scene
        count = self.tallies.histories
        meta = Meta(scene.title, self.source, scene.digest, version(), self.seed, count, REPLICATES)
        sums = self.compiled, self.tallies
        return assemble(self.seen, *sums, self.powers, meta, pool, wanted=wanted, more=more)

    def judged(self, pool: ThreadPoolExecutor) -> Result:
        """The result as far as the stop rule looks at it."""
        return self._gathered(pool, judged_groups(self.compiled.groups))

    def told(self, pool: ThreadPoolExecutor) -> Result:
        """The result as far as it is told in a terminal."""
        kinds = {group.kind for group in judged_groups(self.compiled.groups)}
        return self._gathered(
            pool, tuple(group for group in self.compiled.groups if group.kind != "surface" or "surface" in kinds)
        )

    def _gathered(self, pool: ThreadPoolExecutor, groups: tuple[Group, ...]) -> Result:
        """The result of some groups, or of all where cells of surfaces are among them."""
        return self.result(pool, None if any(group.kind == "surface" for group in groups) else groups)

    @property
    def share(self) -> float:
        """Of the whole run that is done, zero where that is not known."""
        photons = self.tallies.photons
        return 0.0 if self.goal is None else min(1.0, int(photons.sum()) / (self.goal * len(photons)))

    def glimpse(self) -> None:
        """Show what is known if it is time to, and somebody looks."""
        if self.glimpses is not None and self.tallies.photons.all():
            self.glimpses.offer(self.share)

    def save(self) -> None:
        if self.checkpoint is not None:
            save_checkpoint(self.checkpoint, self.key, self.tallies)
            self.saved_at = time.monotonic()


def simulate(  # noqa: PLR0913  # all but the first have defaults and are keywords
    scene: Scene,
    *,
    seen: Survey | None = None,
    histories: int | None = None,
    error: float | None = None,
    seed: int | None = None,
    threads: int = 1,
    on_card: bool = False,
    source: str = "",
    checkpoint: Path | None = None,
    report: Callable[[Progress], None] = lambda progress: None,
    stop: Callable[[], bool] = lambda: False,
    sections: bool = False,
    soon: Callable[[Result], None] | None = None,
    meanwhile: Callable[[Result], None] | None = None,
    readings: Readings | None = None,
) -> Result:
    """Return the result of tracing a scene.

    Parameters
    ----------
    scene : Scene
    seen : Survey, optional
        Of the scene, where its check was made already.
    histories : int, optional
        Photons in all lamps together; the scene's own count by default, or no limit where an error is given here.
    error : float, optional
        Relative standard error of the zones' mean UV index at which to stop; see `sim.simulate.stop_rule`.
    seed : int, optional
        The scene's by default.
    threads : int
        Threads to work on; they change nothing but the time.
    on_card : bool
        Trace on the graphics card; `sim.transport.gpu.present.why_no_card` tells whether that can be. Photons, rays and
        paths are those of the processor up to rounding, and always the same on one card. Links, sections, and the
        trial for the ways of planes, are left to the processor.
    source : str
        Name of the scene file, for the record.
    checkpoint : Path, optional
        Where an unfinished run is kept, and taken up again if it is of the same scene and seed.
    report : callable
        Called after every step.
    stop : callable
        Looked at after every step; what was traced until then is returned.
    sections : bool
        Trace sections through the enclosure, too, for pictures of them.
    soon : callable, optional
        Given the same numbers before sections are traced and cells of surfaces put together: a result of sensors, zones
        and places within reach alone, or, of a scene without sensors and zones, of surfaces as well.
    meanwhile : callable, optional
        Given such a result of what is traced so far, now and again where a run goes on for long.
    readings : Readings, optional
        Set-ups of readings that earlier runs traced; what this one traces is added. They change nothing but the time.

    Raises
    ------
    SceneError
        If the scene cannot be traced; it has one line for each fault.
    Interrupted
        If the run was stopped before every lamp had photons.
    """
    seen = _checked(survey(scene) if seen is None else seen, source)
    seed = scene.run.seed if seed is None else seed
    limit = histories if histories is not None else NO_LIMIT if error is not None else scene.run.histories
    wanted = error if error is not None or histories is not None else scene.run.error
    bodies = compile_bodies(seen)
    compiled = _compiled(bodies, source)
    fault = memory_fault(compiled)
    if fault is not None:
        raise SceneError([f"{source or scene.title}: run.receiver_size: {fault}"])
    tallies = empty_tallies(compiled)
    with ThreadPoolExecutor(max_workers=max(1, threads)) as pool:
        powers = _powers(scene, source, seed, _reading_error(wanted), stop, pool, on_card, readings)
        tried = chosen_ways(compiled.without_cells(), kernel_seed(seed), pool, links=not on_card)
        compiled = compiled.with_ways(tried.model.planes.cells[:, 3])
        run = _Run(seen, compiled, tallies, powers, seed, source, report, stop, checkpoint, time.monotonic())
        run.card = _card(compiled) if on_card else None
        if checkpoint is not None:
            run.tallies = load_checkpoint(checkpoint, run.key, tallies) or tallies
        if meanwhile is not None:
            run.glimpses = Glimpses(lambda: meanwhile(run.told(pool)))
        _trace_all(run, _photons_each(limit, len(scene.lamps)), wanted, pool)
        if not run.tallies.photons.all():
            run.save()
            raise Interrupted
        if soon is not None:
            soon(run.told(pool))
        wanted_sections = sections and not stop()
        more = traced_sections(bodies, Traced(compiled, run.tallies), seed, pool, stop) if wanted_sections else None
        result = run.result(pool, more=more)
        if stop():
            run.save()  # the same command goes on from here
        return result


def _card(compiled: CompiledScene) -> "Card":
    from sim.transport.gpu.card import Card

    return Card(compiled.model, REPLICATES, len(compiled.effort))


def _photons_each(histories: int, lamps: int) -> int:
    """Return photons of each lamp in each replicate for a count in all, rounded up."""
    return max(1, -(-histories // (lamps * REPLICATES)))


def _trace_all(run: _Run, limit: int, wanted: float | None, pool: ThreadPoolExecutor) -> None:
    """Trace up to the limit, or until the wanted error is reached, or somebody stops the run."""
    done = max(FIRST_LOOK, int(run.tallies.look[0]), int(run.tallies.photons.max()))
    target = limit if wanted is None else _next_look(run, min(limit, done))
    run.goal = limit if wanted is None else None
    while _trace_to(run, target, pool):
        if wanted is None or target >= limit:
            break
        run.error = largest_error(run.judged(pool))
        if run.error <= wanted:
            break
        # The error falls as one over the root of the count; quadruple at most, on the word of a first rough error.
        factor = max((run.error / wanted) ** 2, LEAST_MORE)
        run.goal = min(limit, int(target * factor) + 1)
        run.glimpse()
        target = _next_look(run, min(run.goal, 4 * target))


def _next_look(run: _Run, target: int) -> int:
    run.tallies.look[0] = target
    return target


def _trace_to(run: _Run, target: int, pool: ThreadPoolExecutor) -> bool:
    """Trace every lamp up to a count of photons; return False if somebody stopped the run."""
    tallies = run.tallies
    tracer = Tracer(run.compiled, tallies, kernel_seed(run.seed), pool, run.points_only, card=run.card)
    step = STEP if run.card is None else CARD_STEP
    while int(tallies.photons.min()) < target:
        lamp = int(tallies.photons.argmin())
        until = min(target, int(tallies.photons[lamp]) + step)
        tracer.step(lamp, until)
        run.report(Progress(tallies.histories, run.share, run.error))
        if run.checkpoint is not None and time.monotonic() - run.saved_at > SAVE_EVERY_S:
            run.save()
        if run.stop():
            return False
        run.glimpse()
    return True


def _checked(seen: Survey, source: str) -> Survey:
    errors = [finding for finding in seen.findings if finding.severity == "error"]
    if errors:
        name = source or seen.scene.title
        raise SceneError([f"{name}: {key_text(finding.where)}: {finding.message}" for finding in errors])
    return seen


def _compiled(bodies: Bodies, source: str) -> CompiledScene:
    try:
        return compile_scene(bodies.seen, bodies=bodies)
    except ValueError as error:
        raise SceneError([f"{source or bodies.seen.scene.title}: {error}"]) from None


def _reading_error(wanted: float | None) -> float:
    """Return the error at which readings count as solved: small beside what the run is to reach."""
    return READING_ERROR if wanted is None else min(MOST_READING_ERROR, READING_SHARE * wanted)


def solved_powers(scene: Scene, source: str, seed: int, stop: Callable[[], bool], pool: ThreadPoolExecutor) -> Powers:
    """Return the powers of a scene's lamps, solved from their readings as well as a run would.

    Raises
    ------
    SceneError
        If the set-up of a reading brings no light to it.
    Interrupted
        If somebody stopped it.
    """
    return _powers(scene, source, seed, READING_ERROR, stop, pool)


def _powers(  # noqa: PLR0913, PLR0917  # what a run has
    scene: Scene,
    source: str,
    seed: int,
    wanted: float,
    stop: Callable[[], bool],
    pool: ThreadPoolExecutor,
    on_card: bool = False,
    readings: Readings | None = None,
) -> Powers:
    """Return the lamps' powers; set-ups of readings are traced for their meters alone."""
    # Seeds of their own: the errors of the run and of each lamp's reading are independent.
    seeds = count(seed + READING_SEED, READING_SEED)
    kept = Readings() if readings is None else readings

    def read(setup: Scene, weightings: Sequence[str], wanted: float) -> FloatArray:
        other = next(seeds)
        how = (*weightings, other, wanted, on_card)
        return kept.brought(setup, how, lambda: trace(setup, weightings, wanted, other))

    def trace(setup: Scene, weightings: Sequence[str], wanted: float, other: int) -> FloatArray:
        seen = survey(setup)
        compiled = compile_scene(seen, only_sensors=True)
        one_watt = Powers(np.ones(1), np.zeros((1, REPLICATES)), (Found(),))
        quiet: Callable[[Progress], None] = lambda progress: None  # noqa: E731  # nobody waits for these alone
        tallies = empty_tallies(compiled)
        run = _Run(seen, compiled, tallies, one_watt, other, setup.title, quiet, stop, None, points_only=True)
        run.card = _card(compiled) if on_card else None
        _trace_all(run, _photons_each(READING_HISTORIES, 1), wanted, pool)
        if stop():
            raise Interrupted
        maps = Maps(run.result(pool))
        # The face of a panel is read, too, and comes before the meters.
        rows = [maps.result.group("sensor", meter.name).first for meter in setup.sensors]
        return np.stack([maps.of(name)[:, row] for row, name in zip(rows, weightings, strict=True)], axis=1)

    try:
        return lamp_powers(scene, read, wanted)
    except ValueError as error:
        raise SceneError([f"{source or scene.title}: {error}"]) from None
