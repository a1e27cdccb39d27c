"""Programs beside a first run that compile some of the kernels."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

import click

from sim.commands.drawing import package_environment

COMPILING = "compiling the kernels, which only the first run does; it takes up to a minute"
LAST = ("gather_links", "gather_paths", "trace_photons")
"""Kernels that a run comes to need last, the very last first; readings of lamps need `gather_direct` before them."""


@contextmanager
def kernels_ahead(threads: int | None, quiet: bool) -> Iterator[None]:
    """Say so where kernels are still to be compiled, and have other cores compile one each of those needed last.

    Their programs are in no group of the terminal's: Ctrl-C, which has a run report what was traced so far, leaves them
    alone. What this run did not need they go on to compile for the next one, but for a run that is broken off.
    """
    from sim.transport.jit import is_compiled

    if is_compiled("trace_photons"):  # which every run needs
        yield
        return
    if not quiet:
        click.echo(COMPILING, err=True)
    cores = min(threads or len(LAST) + 1, len(os.sched_getaffinity(0)), len(LAST) + 1)
    _beside.extend(map(_compiling, LAST[: cores - 1]))  # one each: more would take longer than the run itself
    try:
        yield
    except BaseException:
        for child in _beside:
            child.kill()
        raise


_beside: list["subprocess.Popen[bytes]"] = []
"""The programs; one that is forgotten while it runs is warned of."""


def _compiling(kernel: str) -> "subprocess.Popen[bytes]":
    return subprocess.Popen(
        [sys.executable, "-m", "sim.simulate.ahead", kernel],
        env=package_environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
