"""``vivray run``: trace a scene and say what the animal gets."""

import json
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import click

from sim.commands.page_options import page_options
from sim.report.lengths import UNITS, System

if TYPE_CHECKING:
    from sim.analysis.coverage import SceneAnswer
    from sim.commands.page_pictures import PageArtist
    from sim.report.lengths import LengthUnit
    from sim.report.pictures import Pictures
    from sim.scene.check import Survey
    from sim.tally.result import Result

RESULT = "result.npz"


class Percent(click.ParamType[float]):
    """A percentage above zero: ``1`` or ``"1 %"``; its value is a share."""

    name = "percent"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the share."""
        if isinstance(value, float):
            return value
        try:
            percent = float(str(value).strip().removesuffix("%"))
        except ValueError:
            self.fail(f"'{value}' is not a percentage; write one such as 1", param, ctx)
        if not 0.0 < percent <= 100.0:
            self.fail(f"{percent:g} is outside 0 to 100 percent; write one such as 1", param, ctx)
        return percent / 100.0


class Count(click.ParamType[int]):
    """A whole number above zero; ``2e6`` will do."""

    name = "count"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """Return the number."""
        try:
            number = float(str(value).replace("_", ""))
        except ValueError:
            number = 0.0
        if not (1 <= number <= 1e13 and number == int(number)):
            self.fail(f"'{value}' is not a whole number from 1 to 1e13", param, ctx)
        return int(number)


@click.command()
@click.argument("scene", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder for result, report and tables.")
@click.option("--histories", type=Count(), help="Photons to trace, in all lamps together.")
@click.option(
    "--error", type=Percent(), help="Trace until all zones (without zones: sensors, surfaces) have this error, in %."
)
@click.option("--seed", type=click.IntRange(0, 2**63 - 1), help="Start of the random numbers.")
@click.option("--threads", type=click.IntRange(1, 1024), help="Threads to work on; all cores by default.")
@click.option(
    "--device",
    type=click.Choice(["cpu", "gpu"]),
    default="cpu",
    show_default=True,
    help="Trace on the processor or on an NVIDIA graphics card.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object on stdout, and nothing else there.")
@click.option(
    "--strict", is_flag=True, help="End with exit code 1 if a zone misses its target or a spot is too bright."
)
@click.option("--force", is_flag=True, help="Replace the files of an earlier run in the folder.")
@page_options
@click.option("--quiet", is_flag=True, help="Show no progress.")
def run(
    scene: Path,
    out: Path | None,
    histories: int | None,
    error: float | None,
    seed: int | None,
    threads: int | None,
    device: str,
    as_json: bool,
    strict: bool,
    force: bool,
    units: System,
    no_pictures: bool,
    quiet: bool,
) -> None:
    """Trace a scene and say what the animal gets.

    Prints a table of the zones. With --out it also writes result.npz, report.html, summary.json and receivers.csv.
    Ctrl-C stops a run and keeps what was traced; the same command again goes on from there.
    """
    from sim.commands.checking import surveyed
    from sim.commands.page_pictures import page_artist

    if histories is not None and error is not None:
        raise click.UsageError("give --histories or --error, not both")
    if device == "gpu":
        _need_card()
    with page_artist(out is not None and not no_pictures) as artist:
        seen = surveyed(scene)
        _prepare(out, force)
        started = time.monotonic()
        with _stoppable() as stopped:
            result = _traced(seen, scene, out, (histories, error, seed, threads, device == "gpu"), quiet, stopped)
            interrupted = stopped()
        elapsed = time.monotonic() - started
        told = _tell(result, out, (elapsed, interrupted), as_json, (units, artist))
    click.get_current_context().exit(130 if interrupted else _exit_code(told, strict))


def _need_card() -> None:
    from sim.transport.gpu.present import why_no_card

    why = why_no_card()
    if why is not None:
        raise click.BadParameter(why, param_hint="--device gpu")


def _prepare(out: Path | None, force: bool) -> None:
    """Make the folder, and see that nothing in it would be lost."""
    from sim.report.write import NAMES
    from sim.simulate.checkpoint import NAME

    if out is None:
        return
    if out.exists() and not out.is_dir():
        raise click.BadParameter(f"{out} is a file; name a folder", param_hint="--out")
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise click.BadParameter(
            f"{out}: {error.strerror}; name a folder that can be written", param_hint="--out"
        ) from None
    there = [name for name in (RESULT, *NAMES.values()) if (out / name).exists()]
    if there and not force and not (out / NAME).exists():
        raise click.BadParameter(
            f"{out} holds {there[0]} of an earlier run; name another folder, or give --force to replace it",
            param_hint="--out",
        )


Options = tuple[int | None, float | None, int | None, int | None, bool]


def _traced(
    seen: "Survey", path: Path, out: Path | None, options: Options, quiet: bool, stopped: Callable[[], bool]
) -> "Result":
    import os

    from sim.commands.kernels_ahead import kernels_ahead
    from sim.commands.progress import progress_bar
    from sim.simulate import Interrupted, simulate
    from sim.simulate.checkpoint import NAME
    from sim.transport.jit import without_linear_algebra

    without_linear_algebra()
    histories, error, seed, threads, on_card = options
    with kernels_ahead(threads, quiet), progress_bar(quiet) as report:
        try:
            return simulate(
                seen.scene,
                seen=seen,
                histories=histories,
                error=error,
                seed=seed,
                threads=threads or len(os.sched_getaffinity(0)),
                on_card=on_card,
                source=path.name,
                checkpoint=None if out is None else out / NAME,
                report=report,
                stop=stopped,
                sections=out is not None,
            )
        except Interrupted:
            raise KeyboardInterrupt from None


@contextmanager
def _stoppable() -> Iterator[Callable[[], bool]]:
    """Turn the first Ctrl-C into a wish to stop; a second one ends the program at once."""
    asked = False

    def ask(number: int, frame: FrameType | None) -> None:
        nonlocal asked
        asked = True
        signal.signal(signal.SIGINT, signal.default_int_handler)

    before = signal.signal(signal.SIGINT, ask)
    try:
        yield lambda: asked
    finally:
        signal.signal(signal.SIGINT, before)


Look = tuple[System, "PageArtist | None"]


def _tell(result: "Result", out: Path | None, ended: tuple[float, bool], as_json: bool, look: Look) -> "SceneAnswer":
    from sim.analysis.coverage import answer
    from sim.report.summary import run_summary

    elapsed, interrupted = ended
    if out is not None:
        result.save(out / RESULT)
    pictures = None if out is None or look[1] is None else look[1].begin(out / RESULT, result, UNITS[look[0]])
    told = answer(result)
    if not as_json:
        _print_tables(told, UNITS[look[0]])  # nobody who looks at them need wait for the page
    left_out = "" if out is None else _write(told, out, ended, UNITS[look[0]], pictures)
    if as_json:
        click.echo(json.dumps(run_summary(result, elapsed, told), indent=1))
        return told
    if out is not None:
        click.echo(f"report: {out / 'report.html'}")
    if left_out:
        click.echo(left_out, err=True)
    if interrupted:
        click.echo("interrupted: the numbers above are those traced so far", err=True)
    return told


def _print_tables(told: "SceneAnswer", unit: "LengthUnit") -> None:
    from rich.console import Console

    from sim.report.tables import terminal_tables

    Console().print(terminal_tables(told, unit))


def _write(
    told: "SceneAnswer",
    out: Path,
    ended: tuple[float, bool],
    unit: "LengthUnit",
    pictures: "Callable[[], Pictures] | None",
) -> str:
    """Write the files of the report, and return a line on what had to be left out."""
    from sim.report.guesses import guessed_values
    from sim.report.without_manual import without_manual
    from sim.report.write import write_report
    from sim.simulate.checkpoint import NAME

    without_manual()
    elapsed, interrupted = ended
    guesses = guessed_values(told.result.scene)
    today = date.today().isoformat()
    write_report(told, out, elapsed, today, guesses=guesses, overwrite=True, unit=unit, pictures=pictures)
    if not interrupted:
        (out / NAME).unlink(missing_ok=True)
    return "" if pictures is None else pictures().left_out


def _exit_code(told: "SceneAnswer", strict: bool) -> int:
    from sim.analysis.verdict import OUTSIDE

    return 1 if strict and told.outcome == OUTSIDE else 0
