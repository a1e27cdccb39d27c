"""Writing a report: each file appears whole or not at all, and nobody's file is replaced unasked."""

import json
import os
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from sim.analysis.coverage import SceneAnswer
from sim.report.lengths import CENTIMETRES, LengthUnit
from sim.report.pictures import Pictures
from sim.report.receivers import receivers_csv
from sim.report.summary import run_summary
from sim.report.watched_page import STAMP

NAMES = {"page": "report.html", "summary": "summary.json", "receivers": "receivers.csv"}


class ReportExistsError(FileExistsError):
    """A file of the report is there already; one line that says which and what to do."""


def write_report(  # noqa: PLR0913  # most are keywords with a default
    told: SceneAnswer,
    out_dir: Path,
    elapsed_s: float | None,
    date: str,
    *,
    guesses: Sequence[str] = (),
    overwrite: bool = False,
    unit: LengthUnit = CENTIMETRES,
    pictures: Callable[[], Pictures] | None = None,
    pdf: Path | None = None,
    look: Callable[[], None] = lambda: None,
) -> dict[str, Path]:
    """Write ``report.html``, ``summary.json`` and ``receivers.csv`` into a folder, which is made if need be.

    Parameters
    ----------
    told : SceneAnswer
    out_dir : Path
    elapsed_s : float, optional [s]
        Time that the run took.
    date : str
        Date to print.
    guesses : sequence of str
        Guessed values, one sentence each.
    overwrite : bool
        Whether files of these names may be replaced.
    unit : LengthUnit
        That the page shows lengths in; other files are in SI units.
    pictures : callable, optional
        Gives those in three dimensions for the page, see `sim.report.page.report_page`.
    pdf : Path, optional
        Where the page goes as PDF, too.
    look : callable
        Called while the page is made; what it raises ends that, and nothing is written.

    Returns
    -------
    dict of str to Path
        By ``"page"``, ``"summary"``, ``"receivers"``, and ``"pdf"`` where one was asked for.

    Raises
    ------
    ReportExistsError
        If a file is there already and `overwrite` is false; nothing is written then.
    NoPdfError
        If a PDF is asked for and nothing here makes one; nothing is written then.
    """
    paths = report_paths(out_dir, pdf)
    if not overwrite:
        refuse_replacing(paths.values())
    # The drawing library takes half a second to import, which tables and summaries alone need not wait for.
    from sim.report.page import report_page

    summary = run_summary(told.result, elapsed_s, told)
    texts = {
        "summary": json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False) + "\n",
        "receivers": receivers_csv(told),
        "page": report_page(told, date, elapsed_s, guesses, unit=unit, pictures=pictures, look=look),
    }
    contents = {key: text.encode() for key, text in texts.items()}
    if pdf is not None:
        from sim.report.pdf import pdf_of

        contents = {"pdf": pdf_of(texts["page"])} | contents
    out_dir.mkdir(parents=True, exist_ok=True)
    for key, content in contents.items():
        write_whole_bytes(paths[key], content)
    if overwrite:
        # Left by a program that watched a scene and was killed: an open page asks for it, and rests once it is gone.
        (out_dir / STAMP).unlink(missing_ok=True)
    return paths


def report_paths(out_dir: Path, pdf: Path | None = None) -> dict[str, Path]:
    """Return the files of a report by what they are, see `write_report`."""
    return {key: out_dir / name for key, name in NAMES.items()} | ({} if pdf is None else {"pdf": pdf})


def refuse_replacing(paths: Iterable[Path]) -> None:
    """Do nothing where no file of these is there.

    Raises
    ------
    ReportExistsError
        If one is.
    """
    taken = [str(path) for path in paths if path.exists()]
    if taken:
        raise ReportExistsError(
            f"{', '.join(taken)}: there already; choose another folder, or replace them with --force"
        )


def write_whole(path: Path, text: str) -> None:
    """Write a text file as UTF-8, line ends untouched, so that it appears whole or not at all."""
    write_whole_bytes(path, text.encode())


def write_whole_bytes(path: Path, content: bytes) -> None:
    """Write a file so that it appears whole or not at all."""
    partial = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        partial.write_bytes(content)
        os.replace(partial, path)
    except OSError as error:
        # A full disk names no file; other faults name the one on the way to that which was asked for.
        if error.strerror is not None:
            error.filename = str(path)
        raise
    finally:
        partial.unlink(missing_ok=True)
