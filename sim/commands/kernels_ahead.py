"""Programs beside a first run that compile some of the kernels."""

import os
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial

import click

from sim.commands.drawing import package_environment

COMPILING = "compiling the kernels, which only the first run does; it takes up to a minute"
OF_RUN = ("gather_links", "gather_paths", "trace_photons")
"""Kernels that a run comes to need last, the very last first; readings of lamps need `gather_direct` before them."""
OF_FIXTURE = OF_RUN[1:]
"""The same for a fixture, which has no links."""
OF_CARD, OF_CARD_WITH_SECTIONS = OF_RUN[1:], ("gather_direct", *OF_RUN[1:])
"""Kernels of the processor that a run on a card needs: for the trial of ways, and at its end for sections."""


@contextmanager
def kernels_ahead(
    last: Sequence[str], threads: int | None, quiet: bool, stopped: Callable[[], bool] = lambda: False
) -> Iterator[None]:
    """Say so where kernels are still to be compiled, and have other cores compile those needed last.

    Their programs are in no group of the terminal's: Ctrl-C, which has a run report what was traced so far, leaves them
    alone. The command ends when they have: what it did not need is there for the next one, and nothing works on behind
    a user's back. They end at once where the block is broken off, or was `stopped`.
    """
    from sim.transport.jit import is_compiled

    if is_compiled("trace_photons"):  # which every run needs
        yield
        return
    if not quiet:
        click.echo(COMPILING, err=True)
    others = min(threads or len(last) + 1, len(os.sched_getaffinity(0))) - 1
    beside = [_compiling(*kernels) for kernels in _shares(last, others)]
    click.get_current_context().call_on_close(partial(_see_out, beside))
    try:
        yield
    except BaseException:
        _end(beside)
        raise
    if stopped():
        _end(beside)


def _shares(last: Sequence[str], programs: int) -> list[Sequence[str]]:
    """Return what each of some programs compiles, in the order in which it is needed.

    One alone takes all but one of the kernels, which is about as long as the command itself compiles; several take one
    each.
    """
    if programs == 1:
        return [last[-2::-1]]
    return [[kernel] for kernel in last[:programs]]


def _compiling(*kernels: str) -> "subprocess.Popen[bytes]":
    return subprocess.Popen(
        [sys.executable, "-m", "sim.simulate.ahead", *kernels],
        env=package_environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )


def _see_out(beside: "Sequence[subprocess.Popen[bytes]]") -> None:
    """Wait for programs to end; Ctrl-C ends them."""
    try:
        for child in beside:
            child.wait()
    except KeyboardInterrupt:
        _end(beside)
        raise


def _end(beside: "Sequence[subprocess.Popen[bytes]]") -> None:
    for child in beside:
        child.kill()
        child.wait()
