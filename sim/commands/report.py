"""``vivray report``: write the report of a result again."""

from datetime import date
from pathlib import Path

import click


@click.command()
@click.argument("result", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder; the result's own by default.")
@click.option("--force", is_flag=True, help="Replace the files of an earlier report.")
def report(result: Path, out: Path | None, force: bool) -> None:
    """Write report.html, summary.json and receivers.csv of a RESULT, a result.npz that `run` wrote."""
    from sim.report.guesses import guessed_values
    from sim.report.write import ReportExistsError, write_report
    from sim.tally.result import ResultError, load_result

    try:
        loaded = load_result(result)
        folder = out or result.parent
        guesses = guessed_values(loaded.scene)
        files = write_report(loaded, folder, None, date.today().isoformat(), guesses=guesses, overwrite=force)
    except (ResultError, ReportExistsError) as error:
        click.echo(str(error), err=True)
        click.get_current_context().exit(2)
    for path in files.values():
        click.echo(str(path))
