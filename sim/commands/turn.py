"""One run of a scene: traced, told in the terminal as soon as there are numbers, and written into a folder."""

import os
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from sim.analysis.coverage import SceneAnswer
    from sim.commands.page_pictures import PageArtist
    from sim.report.lengths import LengthUnit
    from sim.scene.check import Survey
    from sim.simulate.readings import Readings
    from sim.tally.result import Result

RESULT = "result.npz"
MAKERS = ("sim.report.page", "sim.report.tables")


def _nothing() -> None:
    """Look at nothing."""


@dataclass(frozen=True)
class Asked:
    """What a run was asked for.

    Attributes
    ----------
    scene : Path
        Its file.
    out : Path, optional
        Folder for its files.
    histories, error, seed, threads, on_card
        See `sim.simulate.simulate`.
    unit : LengthUnit
        That lengths are shown in.
    quiet : bool
        Whether it shows no progress.
    """

    scene: Path
    out: Path | None
    histories: int | None
    error: float | None
    seed: int | None
    threads: int | None
    on_card: bool
    unit: "LengthUnit"
    quiet: bool


@dataclass(frozen=True)
class Ended:
    """A run that is traced.

    Attributes
    ----------
    result : Result
    elapsed_s : float [s]
        Time that it took.
    interrupted : bool
        Whether Ctrl-C ended it.
    """

    result: "Result"
    elapsed_s: float
    interrupted: bool

    @cached_property
    def told(self) -> "SceneAnswer":
        """The answer of its result."""
        from sim.analysis.coverage import answer

        return answer(self.result)


def traced(
    seen: "Survey",
    asked: Asked,
    tell: Callable[["SceneAnswer"], None] | None,
    look: Callable[[], None] = _nothing,
    readings: "Readings | None" = None,
    show: Callable[["SceneAnswer"], None] | None = None,
) -> Ended:
    """Return what the tracing of a scene gave.

    Parameters
    ----------
    seen : Survey
    asked : Asked
    tell : callable, optional
        Given the answer as soon as it is known, before what only files and pages need is traced.
    look : callable
        Called after every step; what it raises ends the run.
    readings : Readings, optional
        Set-ups of lamps' readings that earlier runs traced.
    show : callable, optional
        Given the answer so far, now and again where the run goes on for long.

    Raises
    ------
    KeyboardInterrupt
        If Ctrl-C came before there was anything to keep.
    """
    from sim.analysis.coverage import answer
    from sim.commands.kernels_ahead import OF_CARD, OF_CARD_WITH_SECTIONS, OF_RUN, kernels_ahead
    from sim.commands.page_ahead import page_ahead
    from sim.commands.progress import progress_bar
    from sim.simulate import Interrupted, simulate
    from sim.simulate.checkpoint import NAME
    from sim.transport.jit import without_linear_algebra

    without_linear_algebra()
    on_card = OF_CARD if asked.out is None else OF_CARD_WITH_SECTIONS
    started = time.monotonic()
    with (
        _stoppable() as stopped,
        kernels_ahead(on_card if asked.on_card else OF_RUN, asked.threads, asked.quiet, stopped, asked.on_card),
        page_ahead(*(() if asked.out is None else MAKERS)),
        ExitStack() as progress,
    ):

        def stop() -> bool:
            if not stopped():
                look()
            return stopped()

        def soon(result: "Result") -> None:
            assert tell is not None, "it is asked for only where somebody is told"
            progress.close()  # what is told must not stand in the middle of a bar
            tell(answer(result))

        report = progress.enter_context(progress_bar(asked.quiet))
        try:
            result = simulate(
                seen.scene,
                seen=seen,
                histories=asked.histories,
                error=asked.error,
                seed=asked.seed,
                threads=asked.threads or len(os.sched_getaffinity(0)),
                on_card=asked.on_card,
                source=asked.scene.name,
                checkpoint=None if asked.out is None else asked.out / NAME,
                report=report,
                stop=stop,
                sections=asked.out is not None,
                readings=readings,
                soon=None if tell is None else soon,
                meanwhile=None if show is None else lambda result: show(answer(result)),
            )
        except Interrupted:
            raise KeyboardInterrupt from None
        return Ended(result, time.monotonic() - started, stopped())


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


def print_tables(told: "SceneAnswer", unit: "LengthUnit") -> None:
    """Print the answer in the terminal."""
    from rich.console import Console

    from sim.report.tables import terminal_tables

    Console().print(terminal_tables(told, unit))


def tell_files(ended: Ended, asked: Asked, left_out: str) -> None:
    """Say where the page is, what it had to leave out, and whether the run was stopped."""
    if asked.out is not None:
        click.echo(f"report: {asked.out / 'report.html'}")
    if left_out:
        click.echo(left_out, err=True)
    if ended.interrupted:
        click.echo("interrupted: the numbers above are those traced so far", err=True)


def early_page(told: "SceneAnswer", asked: Asked, elapsed_s: float, drawn: bool, look: Callable[[], None]) -> str:
    """Return the page of a run that is under way: what `traced` tells of, and places for all that is to come.

    Parameters
    ----------
    told : SceneAnswer
    asked : Asked
    elapsed_s : float [s]
        Time that the run took so far.
    drawn : bool
        Whether pictures in three dimensions are to come.
    look : callable
        Called between one thing and the next; what it raises ends the page.
    """
    from sim.report.guesses import guessed_values
    from sim.report.page import report_page
    from sim.report.pictures import Pictures

    guesses = guessed_values(told.result.scene)
    pictures = Pictures if drawn else None
    day = date.today().isoformat()
    return report_page(told, day, elapsed_s, guesses, unit=asked.unit, pictures=pictures, look=look, coming=True)


def write(
    ended: Ended,
    asked: Asked,
    folder: Path,
    artist: "PageArtist | None",
    look: Callable[[], None] = _nothing,
) -> str:
    """Write all files of a run into a folder, and return a line on what had to be left out.

    Parameters
    ----------
    ended : Ended
    asked : Asked
    folder : Path
    artist : PageArtist, optional
        Draws the page's pictures; the page says nothing of them where there is none.
    look : callable
        Called between one thing and the next, and while pictures are waited for; what it raises ends the writing.
    """
    from sim.report.guesses import guessed_values
    from sim.report.write import write_report
    from sim.simulate.checkpoint import NAME

    if ended.interrupted:
        look = _nothing  # Ctrl-C was meant for this run
    look()
    result = ended.result
    result.save(folder / RESULT)
    pictures = None if artist is None else artist.begin(folder / RESULT, result, asked.unit, look)
    guesses = guessed_values(result.scene)
    write_report(
        ended.told,
        folder,
        ended.elapsed_s,
        date.today().isoformat(),
        guesses=guesses,
        overwrite=True,
        unit=asked.unit,
        pictures=pictures,
        look=look,
    )
    look()
    if not ended.interrupted and asked.out is not None:
        (asked.out / NAME).unlink(missing_ok=True)
    return "" if pictures is None else pictures().left_out
