"""``vivray compare``: two results beside each other, and where they differ beyond the error."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.commands.choosing import Viewpoint, chosen
from sim.commands.drawing import Drawn, draw
from sim.spectra.weighting import WEIGHTINGS

if TYPE_CHECKING:
    from sim.analysis.comparison import Comparison

_FLAT = (".png", ".svg")


@click.command(cls=Drawn)
@click.argument("first", type=click.Path(path_type=Path))
@click.argument("second", type=click.Path(path_type=Path))
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), help="Draw the maps to this FILE.png or FILE.svg."
)
@click.option("--model", is_flag=True, help="Draw models in three dimensions instead of flat maps; needs GL.")
@click.option("--camera", type=Viewpoint(), default="corner", show_default=True, metavar="VIEW", help="Of the models.")
@click.option(
    "--quantity", type=click.Choice(list(WEIGHTINGS)), default="uvi", show_default=True, help="What to compare."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object on stdout, and nothing else there.")
@click.option("--force", is_flag=True, help="Replace a file that is there already.")
def compare(
    first: Path,
    second: Path,
    out: Path | None,
    model: bool,
    camera: str | Path,
    quantity: str,
    as_json: bool,
    force: bool,
) -> None:
    """Compare two results, FIRST and SECOND, of variants of a scene.

    Prints the area means and their differences; with --out draws both on one colour scale, and the difference where it
    is beyond its error.
    """
    if model:
        if out is None:
            raise click.UsageError("--model draws a picture: name it with --out FILE.png")
        draw()
    from sim.analysis.comparison import ComparisonError
    from sim.tally.result import ResultError

    try:
        compared = loaded(first, second, quantity)
        if out is not None:
            _write(compared, named(first, second), out, force)
        _tell(compared, named(first, second), as_json)
    except (ResultError, ComparisonError, FileExistsError) as error:
        click.echo(str(error), err=True)
        click.get_current_context().exit(2)
    except OSError as error:
        click.echo(f"{out}: {error.strerror}; name a file that can be written", err=True)
        click.get_current_context().exit(2)


def loaded(first: Path, second: Path, quantity: str) -> "Comparison":
    """Return the comparison of two files.

    Raises
    ------
    ResultError
        If one is no result.
    ComparisonError
        If they have nothing in common.
    """
    from sim.analysis.comparison import Comparison
    from sim.tally.result import load_result

    compared = Comparison(*(chosen(load_result(path), quantity) for path in (first, second)))
    compared.pairs  # noqa: B018  # raises where there are none, before anything is drawn
    return compared


def named(first: Path, second: Path) -> tuple[str, str]:
    """Return what two results are called: the parts of their paths that tell them apart."""
    for one, other in ((first.stem, second.stem), (first.parent.name, second.parent.name)):
        if one and other and one != other:
            return one, other
    return "first", "second"


def free(out: Path, endings: tuple[str, ...], force: bool) -> None:
    """Do nothing where a picture may be written.

    Raises
    ------
    click.BadParameter
        If its name ends otherwise.
    FileExistsError
        If it is there already, without `force`.
    """
    if out.suffix.lower() not in endings:
        raise click.BadParameter(f"{out} does not end in {' or '.join(endings)}", param_hint="--out")
    if out.exists() and not force:
        raise FileExistsError(f"{out} is there already; name another file, or give --force to replace it")


def _write(compared: "Comparison", names: tuple[str, str], out: Path, force: bool) -> None:
    free(out, _FLAT, force)
    from sim.report.comparison_figure import comparison_picture
    from sim.report.write import write_whole_bytes

    write_whole_bytes(out, comparison_picture(compared, names, out.suffix.lower()[1:]))


def _tell(compared: "Comparison", names: tuple[str, str], as_json: bool) -> None:
    import json

    quantity = compared.first.quantity

    from sim.report.comparison_tables import comparison_rows, comparison_table

    if as_json:
        told = {
            "quantity": quantity,
            "unit": WEIGHTINGS[quantity].unit or "1",
            "first": names[0],
            "second": names[1],
            "left_out": list(compared.left_out),
            "rows": comparison_rows(compared),
        }
        click.echo(json.dumps(told, indent=1, ensure_ascii=False))
        return
    from rich.console import Console

    Console().print(comparison_table(compared, names))
