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
OF_CARDS_OWN = ("paths", "direct", "photons")
"""The card's own kernels, those that take longest first."""


@contextmanager
def kernels_ahead(
    last: Sequence[str],
    threads: int | None,
    quiet: bool,
    stopped: Callable[[], bool] = lambda: False,
    on_card: bool = False,
) -> Iterator[None]:
    """Say so where kernels are still to be compiled, and have other cores compile those needed last.

    Their programs are in no group of the terminal's: Ctrl-C, which has a run report what was traced so far, leaves them
    alone. The command ends when they have: what it did not need is there for the next one, and nothing works on behind
    a user's back. They end at once where the block is broken off, or was `stopped`.
    """
    from sim.transport.jit import is_compiled

    missing = () if is_compiled("trace_photons") else last  # which every run needs
    of_card = _missing_on_card() if on_card else ()
    if not missing and not of_card:
        yield
        return
    if not quiet:
        click.echo(COMPILING, err=True)
    cores = len(os.sched_getaffinity(0))
    others = min(threads or len(missing) + 1, cores) - 1
    beside = [_compiling("ahead", *kernels) for kernels in _shares(missing, others)]
    beside += [_compiling("ahead_on_card", *kernels) for kernels in _shares_on_card(of_card, cores - 1 - len(beside))]
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
    if programs == 1 and last:
        return [last[-2::-1]]
    return [[kernel] for kernel in last[:programs]]


def _shares_on_card(kernels: Sequence[str], cores: int) -> list[Sequence[str]]:
    """Return what each of some programs compiles for a card: one program each, or one for all where cores are few."""
    if cores < 1 or not kernels:
        return []
    return [[kernel] for kernel in kernels] if cores >= len(kernels) else [kernels]


def _missing_on_card() -> Sequence[str]:
    """Return which of the card's kernels are still to be compiled, what takes longest first."""
    from sim.transport.gpu.target import card_is_compiled

    return [kernel for kernel in OF_CARDS_OWN if not card_is_compiled(kernel)]


def _compiling(program: str, *kernels: str) -> "subprocess.Popen[bytes]":
    return subprocess.Popen(
        [sys.executable, "-m", f"sim.simulate.{program}", *kernels],
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
