"""Progress on stderr: a bar on a terminal, a plain line every ten seconds elsewhere."""

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

from sim.simulate import Progress

LINE_EVERY_S = 10.0


@contextmanager
def progress_bar(quiet: bool) -> Iterator[Callable[[Progress], None]]:
    """Yield what a run calls after every step."""
    if quiet:
        yield lambda progress: None
    elif sys.stderr.isatty():
        with _bar() as report:
            yield report
    else:
        yield _lines()


@contextmanager
def _bar() -> Iterator[Callable[[Progress], None]]:
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn, TimeElapsedColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("tracing"), BarColumn(), TextColumn("{task.description}"))
    with Bar(*columns, TimeElapsedColumn(), TimeRemainingColumn(), console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("starting", total=1.0)

        def report(progress: Progress) -> None:
            bar.update(task, completed=progress.share, description=_words(progress))

        yield report


def _lines() -> Callable[[Progress], None]:
    last = time.monotonic()

    def report(progress: Progress) -> None:
        nonlocal last
        if time.monotonic() - last >= LINE_EVERY_S:
            last = time.monotonic()
            click.echo(f"tracing: {100.0 * progress.share:.0f} %, {_words(progress)}", err=True)

    return report


def _words(progress: Progress) -> str:
    words = f"{progress.histories / 1e6:.1f} million photons"
    return words if progress.error is None else f"{words}, error {100.0 * progress.error:.2g} %"
