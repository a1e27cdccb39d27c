"""``vivray run``: trace a scene and say what the animal gets."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.commands.page_options import page_options
from sim.commands.turn import RESULT, Asked, Ended, print_tables, tell_files, traced, write
from sim.report.lengths import UNITS, System

if TYPE_CHECKING:
    from sim.analysis.coverage import SceneAnswer
    from sim.scene.model import Scene


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
            self.fail(f"no run ends at {percent:g} %; give more than 0 % and at most 100 %, such as 1", param, ctx)
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
@click.option("--watch", is_flag=True, help="Stay, and run again each time the scene or a file that it names is saved.")
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
    watch: bool,
    force: bool,
    units: System,
    no_pictures: bool,
    quiet: bool,
) -> None:
    """Trace a scene and say what the animal gets.

    Prints a table of the zones. With --out it also writes result.npz, report.html, summary.json and receivers.csv.
    Ctrl-C stops a run and keeps what was traced; the same command again goes on from there.
    """
    if histories is not None and error is not None:
        raise click.UsageError("give --histories or --error, not both")
    if watch and (as_json or strict):
        raise click.UsageError("--watch goes on until Ctrl-C; give neither --json nor --strict with it")
    if device == "gpu":
        _need_card()
    asked = Asked(scene, out, histories, error, seed, threads, device == "gpu", UNITS[units], quiet)
    code = _watch(asked, force, not no_pictures) if watch else _run(asked, as_json, strict, force, not no_pictures)
    click.get_current_context().exit(code)


def _run(asked: Asked, as_json: bool, strict: bool, force: bool, drawn: bool) -> int:
    """Run a scene once and return the exit code."""
    from sim.commands.checking import surveyed
    from sim.commands.page_pictures import page_artist

    def tell(told: "SceneAnswer") -> None:
        print_tables(told, asked.unit)

    with page_artist(asked.out is not None and drawn) as artist:
        seen = surveyed(asked.scene)
        _prepare(asked.out, force)
        if not force:
            _keep_unfinished(asked, lambda: seen.scene)
        ended = traced(seen, asked, None if as_json else tell)
        left_out = "" if asked.out is None else write(ended, asked, asked.out, artist)
    if as_json:
        _print_json(ended)
    else:
        tell_files(ended, asked, left_out)
    if ended.interrupted:
        return 130
    return 1 if strict and _misses(ended) else 0


def _watch(asked: Asked, force: bool, drawn: bool) -> int:
    """Run a scene each time it is saved and return the exit code."""
    from sim.commands.checking import surveyed
    from sim.commands.watching import Watch
    from sim.report.watched_page import STAMP

    if not asked.scene.is_file():
        surveyed(asked.scene)  # says so: nobody waits for a file of a wrong name
    _prepare(asked.out, force, (STAMP,))
    if not force:
        _keep_unfinished(asked, lambda: _as_it_is(asked.scene))
    return Watch(asked, drawn).until_ctrl_c()


def _print_json(ended: Ended) -> None:
    from sim.report.summary import run_summary

    click.echo(json.dumps(run_summary(ended.result, ended.elapsed_s, ended.told), indent=1))


def _misses(ended: Ended) -> bool:
    """Whether a zone is outside its target or a place within reach over its limit."""
    from sim.analysis.verdict import OUTSIDE

    return ended.told.outcome == OUTSIDE


def _need_card() -> None:
    from sim.transport.gpu.present import why_no_card

    why = why_no_card()
    if why is not None:
        raise click.BadParameter(why, param_hint="--device gpu")


def _prepare(out: Path | None, force: bool, more: tuple[str, ...] = ()) -> None:
    """Make the folder, and see that none of the files of a run, nor more of these names, would be lost in it."""
    from sim.commands.report_folder import clear_unfinished
    from sim.report.watched_page import STAMP
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
    there = [name for name in (RESULT, *NAMES.values(), *more) if (out / name).exists()]
    if there and not force and not (out / NAME).exists():
        whose = "a run that --watch looks after" if (out / STAMP).exists() else "an earlier run"
        raise click.BadParameter(
            f"{out} holds {there[0]} of {whose}; name another folder, or give --force to replace it",
            param_hint="--out",
        )
    clear_unfinished(out)


def _keep_unfinished(asked: Asked, scene_of: Callable[[], "Scene | None"]) -> None:
    """See that what a stopped run traced is not lost to one that cannot go on from it."""
    from sim.simulate.checkpoint import NAME, kept_key, run_key

    kept = None if asked.out is None else kept_key(asked.out / NAME)
    if kept is None:
        return
    from sim.simulate.assemble import version

    scene = scene_of()
    if scene is not None:
        seed = scene.run.seed if asked.seed is None else asked.seed
        if kept == run_key(scene.digest, seed, version(), asked.on_card):
            return
    raise click.BadParameter(
        f"{asked.out} holds {NAME}, all that a stopped run of another scene, seed, device or version traced; name "
        "another folder, or give --force to replace it",
        param_hint="--out",
    )


def _as_it_is(path: Path) -> "Scene | None":
    """Return the scene of a file, or None where it has a fault."""
    from sim.scene.fault import SceneError
    from sim.scene.load import read_document

    try:
        return read_document(path).scene()
    except SceneError:
        return None
