"""``vivray export``: the numbers of a result in files that other programs open."""

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.commands.choosing import chosen, selection_options
from sim.commands.drawing import Drawn, draw

if TYPE_CHECKING:
    from sim.analysis.selection import Selection

KINDS = ("vtp", "vtm", "glb", "html", "csv", "json")
_TABLES = ("csv", "json")


@click.command(cls=Drawn)
@click.argument("result", type=click.Path(path_type=Path))
@click.option("--to", "kind", type=click.Choice(KINDS), required=True, help="Kind of file.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="File; beside the result by default.")
@selection_options
@click.option("--force", is_flag=True, help="Replace files that are there already.")
def export(
    result: Path,
    kind: str,
    out: Path | None,
    quantity: str,
    standard_error: bool,
    lamp: str | None,
    levels: tuple[tuple[str, float], ...],
    force: bool,
) -> None:
    """Write the numbers of a RESULT, a result.npz that `run` wrote, for other programs.

    \b
    vtp   one mesh with all numbers on its cells, for mesh viewers
    vtm   the same, a block a surface
    glb   coloured surfaces for programs that show models
    html  one page to open or send: turn the model, dim lamps, read numbers
    csv   a table with a row a receiver
    json  zones, surfaces and sensors
    """  # noqa: D301  # a backspace tells click to keep the lines
    if kind not in _TABLES:
        draw()
    from sim.analysis.dimming import LevelError
    from sim.tally.result import ResultError, load_result

    try:
        path = target(result, out, kind, force)
        _write_table(chosen(load_result(result), quantity, standard_error, lamp, levels), path, kind)
    except (ResultError, LevelError, FileExistsError) as error:
        click.echo(str(error), err=True)
        click.get_current_context().exit(2)
    except OSError as error:
        click.echo(f"{out}: {error.strerror}; name a file that can be written", err=True)
        click.get_current_context().exit(2)
    click.echo(str(path))


def target(result: Path, out: Path | None, kind: str, force: bool) -> Path:
    """Return the file that an export goes to.

    Raises
    ------
    FileExistsError
        If it is there already and `force` is false; one line that says what to do.
    click.BadParameter
        If its name ends as another kind of file does.
    """
    path = result.with_suffix(f".{kind}") if out is None else out
    if path.suffix.lower() != f".{kind}":
        raise click.BadParameter(f"{path} does not end in .{kind}", param_hint="--out")
    folder = path.with_suffix("")  # where the blocks of a VTM file lie
    if kind == "vtm" and folder.exists() and not _holds_blocks_alone(folder):
        raise FileExistsError(f"{folder}, where the blocks would go, holds other things; name another file")
    taken = [one for one in (path, folder) if one.exists() and (one is path or kind == "vtm")]
    if taken and not force:
        raise FileExistsError(f"{taken[0]} is there already; name another file, or give --force to replace it")
    return path


def _holds_blocks_alone(folder: Path) -> bool:
    pattern = re.compile(rf"{re.escape(folder.name)}_\d+\.vt[pu]")
    return folder.is_dir() and all(pattern.fullmatch(one.name) for one in folder.iterdir())


def _write_table(shown: "Selection", path: Path, kind: str) -> None:
    import json

    from sim.report.receivers import receivers_csv
    from sim.report.summary import run_summary
    from sim.report.write import write_whole

    if kind == "csv":
        write_whole(path, receivers_csv(shown.told))
        return
    lamps = [lamp.name for lamp in shown.result.lamps]
    levels = dict(zip(lamps, shown.levels or (1.0,) * len(lamps), strict=True))
    summary = {"lamp_levels": levels} | run_summary(shown.result, None, shown.told)
    write_whole(path, json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False) + "\n")
