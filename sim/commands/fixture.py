"""``vivray fixture``: what a lamp and its reflectors do with its light, alone in free space."""

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.commands.page_options import units_option
from sim.commands.run import Count
from sim.report.lengths import UNITS, System
from sim.units import LENGTH, parse_quantity

if TYPE_CHECKING:
    from sim.analysis.fixture import FixtureTrace
    from sim.lamps.any_lamp import Lamp
    from sim.scene.model import Scene

NAMES = ("fixtures.json", "fixtures.csv", "fixtures.html")
DISTANCES: dict[System, tuple[float, ...]] = {
    "metric": (0.1, 0.2, 0.3, 0.4, 0.5, 0.6),
    "inch": (0.1016, 0.2032, 0.3048, 0.4064, 0.508, 0.6096),
}
"""Round ones in the unit that they are shown in [m]."""
HISTORIES = 2_000_000


class Distance(click.ParamType[float]):
    """A length above zero, such as ``"30 cm"``; its value is in metres."""

    name = "length"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the length."""
        if isinstance(value, float):
            return value
        try:
            length = parse_quantity(value, LENGTH, "length", "30 cm")
        except ValueError as error:
            self.fail(str(error), param, ctx)
        if length <= 0.0:
            self.fail(f"'{value}' is not above zero; write one such as '30 cm'", param, ctx)
        return length


@click.command()
@click.argument("scenes", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="SCENE...")
@click.option("--lamp", "lamps", multiple=True, metavar="NAME", help="Only this lamp; may be repeated.")
@click.option(
    "--finish", "finishes", multiple=True, metavar="LAW", help="Give all its reflectors this law; may be repeated."
)
@click.option("--at", "distances", multiple=True, type=Distance(), help="Distance from the lamp; may be repeated.")
@click.option("--histories", type=Count(), default=HISTORIES, help="Photons to trace for each row.")
@click.option("--seed", type=click.IntRange(0, 2**63 - 1), default=1, help="Start of the random numbers.")
@click.option("--threads", type=click.IntRange(1, 1024), help="Threads to work on; all cores by default.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object on stdout, and nothing else there.")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder for fixtures.json, .csv and .html."
)
@click.option("--force", is_flag=True, help="Replace those files.")
@units_option
@click.option("--quiet", is_flag=True, help="Show no progress.")
def fixture(
    scenes: tuple[Path, ...],
    lamps: tuple[str, ...],
    finishes: tuple[str, ...],
    distances: tuple[float, ...],
    histories: int,
    seed: int,
    threads: int | None,
    as_json: bool,
    out: Path | None,
    force: bool,
    units: System,
    quiet: bool,
) -> None:
    """Tell how a lamp shines in its reflectors, and how much of its light they and it keep.

    Each lamp of the scenes is traced with the reflectors that are attached to it, alone in free space: one row each,
    and with --finish one for each finish. The lamp keeps its power, so rows can be compared. With --out it also writes
    a sheet of each: a page with tables, sections, curve and spectrum.
    """
    from sim.commands.checking import surveyed

    _prepare(out, force)
    read = [(path, surveyed(path).scene) for path in scenes]
    wanted = [
        (path.name, scene, lamp, finish)
        for path, scene in read
        for lamp in scene.lamps
        if not lamps or lamp.name in lamps
        for finish in _finishes(scene, lamp, finishes)
    ]
    _refuse_unknown(lamps, {lamp.name for _, scene in read for lamp in scene.lamps})
    at = tuple(sorted(set(distances))) or DISTANCES[units]
    for _, _, lamp, _ in wanted:
        if at[0] <= lamp.reach:
            raise click.BadParameter(
                f"{100.0 * at[0]:g} cm lies within lamp '{lamp.name}', which reaches {100.0 * lamp.reach:g} cm from "
                "its middle; distances count from there",
                param_hint="--at",
            )
    traces = _traced(wanted, at, (histories, seed, threads), quiet, planes=out is not None)
    _tell(traces, as_json, out, units, seed)


def _prepare(out: Path | None, force: bool) -> None:
    if out is None:
        return
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise click.BadParameter(
            f"{out}: {error.strerror}; name a folder that can be written", param_hint="--out"
        ) from None
    there = [name for name in NAMES if (out / name).exists()]
    if there and not force:
        raise click.BadParameter(
            f"{out} holds {there[0]} already; name another folder, or give --force to replace it", param_hint="--out"
        )


def _finishes(scene: "Scene", lamp: "Lamp", wanted: Sequence[str]) -> list[str | None]:
    """Return the finishes to trace a lamp with: none but their own where it has no reflectors."""
    from sim.scene.library import material_names

    for name in wanted:
        if name not in scene.laws and name not in material_names():
            raise click.BadParameter(
                f"nothing is called '{name}'; name a law of the scene or a material of the library, which "
                "'vivray describe' lists",
                param_hint="--finish",
            )
    if not wanted or all(sheet.lamp != lamp.name for sheet in scene.reflectors):
        return [None]
    return list(dict.fromkeys(wanted))


def _refuse_unknown(lamps: Sequence[str], known: set[str]) -> None:
    strays = [name for name in lamps if name not in known]
    if strays:
        raise click.BadParameter(
            f"no lamp is called '{strays[0]}'; there are: {', '.join(sorted(known))}", param_hint="--lamp"
        )


Wanted = tuple[str, "Scene", "Lamp", str | None]


def _traced(
    wanted: Sequence[Wanted],
    distances: Sequence[float],
    options: tuple[int, int, int | None],
    quiet: bool,
    *,
    planes: bool,
) -> list["FixtureTrace"]:
    import os
    from concurrent.futures import ThreadPoolExecutor

    import numpy as np

    from sim.commands.kernels_ahead import OF_FIXTURE, kernels_ahead
    from sim.commands.page_ahead import page_ahead
    from sim.commands.progress import progress_bar
    from sim.simulate import Interrupted, Progress
    from sim.simulate.fixture import trace_fixture
    from sim.simulate.fixture_bench import Effort
    from sim.transport.jit import without_linear_algebra

    without_linear_algebra()
    histories, seed, threads = options
    traces: list[FixtureTrace] = []
    pool = ThreadPoolExecutor(max_workers=threads or len(os.sched_getaffinity(0)))
    makers = ("sim.report.fixture_page",) if planes else ()
    with kernels_ahead(OF_FIXTURE, threads, quiet), page_ahead(*makers), pool, progress_bar(quiet) as report:

        def told(share: float) -> None:
            done = len(traces) + share
            report(Progress(int(done * histories), done / len(wanted), None))

        effort = Effort(histories, seed, pool, told)
        for source, scene, lamp, finish in wanted:
            try:
                at = np.array(distances)
                traces.append(trace_fixture(scene, lamp, at, effort, finish=finish, source=source, planes=planes))
            except Interrupted:
                raise KeyboardInterrupt from None
    return traces


def _tell(traces: Sequence["FixtureTrace"], as_json: bool, out: Path | None, units: System, seed: int) -> None:
    from rich.console import Console

    from sim.report.fixture_summary import fixture_csv, fixture_summary
    from sim.report.fixture_tables import fixture_tables
    from sim.report.write import write_whole

    if as_json or out is not None:
        summary = fixture_summary(traces)
        if out is not None:
            from sim.report.fixture_page import Made, fixture_page
            from sim.simulate.assemble import version

            made = Made(date.today().isoformat(), version(), seed)
            texts = (
                json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False) + "\n",
                fixture_csv(summary),
                fixture_page(traces, made, UNITS[units]),
            )
            for name, text in zip(NAMES, texts, strict=True):
                write_whole(out / name, text)
    if as_json:
        click.echo(json.dumps(summary, indent=1))
    else:
        Console().print(fixture_tables(traces, UNITS[units]))
        if out is not None:
            click.echo(f"sheet: {out / NAMES[-1]}")
