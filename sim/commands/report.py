"""``vivray report``: write the report of a result again."""

from datetime import date
from pathlib import Path

import click

from sim.commands.page_options import page_options
from sim.report.lengths import UNITS, System


@click.command()
@click.argument("result", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder; the result's own by default.")
@click.option("--pdf", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE", help="Write a PDF, too.")
@page_options
@click.option("--force", is_flag=True, help="Replace the files of an earlier report.")
def report(result: Path, out: Path | None, pdf: Path | None, units: System, no_pictures: bool, force: bool) -> None:
    """Write report.html, summary.json and receivers.csv of a RESULT, a result.npz that `run` wrote."""
    from sim.analysis.coverage import answer
    from sim.commands.page_pictures import page_artist
    from sim.report.guesses import guessed_values
    from sim.report.pdf import NoPdfError
    from sim.report.without_manual import without_manual
    from sim.report.write import ReportExistsError, refuse_replacing, report_paths, write_report
    from sim.tally.result import ResultError, load_result

    unit = UNITS[units]
    folder = out or result.parent
    try:
        with page_artist(not no_pictures) as artist:
            loaded = load_result(result)
            if not force:
                refuse_replacing(report_paths(folder, pdf).values())
            pictures = None if artist is None else artist.begin(result, loaded, unit)
            without_manual()
            files = write_report(
                answer(loaded),
                folder,
                None,
                date.today().isoformat(),
                guesses=guessed_values(loaded.scene),
                overwrite=force,
                unit=unit,
                pictures=pictures,
                pdf=pdf,
            )
    except (ResultError, ReportExistsError, NoPdfError) as error:
        click.echo(str(error), err=True)
        click.get_current_context().exit(2)
    except OSError as error:
        click.echo(f"{error.filename or folder}: {error.strerror}; name a place that can be written", err=True)
        click.get_current_context().exit(2)
    for path in files.values():
        click.echo(str(path))
    left_out = "" if pictures is None else pictures().left_out
    if left_out:
        click.echo(left_out, err=True)
