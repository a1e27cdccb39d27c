"""Programs beside a first run that compile some of the kernels."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

import click

from sim.commands.drawing import package_environment

COMPILING = "compiling the kernels, which only the first run does; it takes up to a minute"
LAST = ("gather_links", "gather_direct", "gather_paths")
"""Kernels that a run comes to need last, the very last first."""


@contextmanager
def kernels_ahead(threads: int | None, quiet: bool) -> Iterator[None]:
    """Say so where kernels are still to be compiled, and have other cores compile those that are needed last.

    Their programs are in no group of the terminal's: Ctrl-C, which has a run report what was traced so far, leaves them
    alone. They end with the block: what the run did not wait for, it did not need.
    """
    from sim.transport.jit import is_compiled

    if is_compiled("trace_photons", "gather_paths", "gather_direct"):
        yield
        return
    if not quiet:
        click.echo(COMPILING, err=True)
    cores = min(threads or len(LAST) + 1, len(os.sched_getaffinity(0)), len(LAST) + 1)
    with ExitStack() as children:
        for first in range(cores - 1):
            child = _compiling(LAST[first :: cores - 1])
            children.enter_context(child)
            children.callback(child.kill)
        yield


def _compiling(kernels: tuple[str, ...]) -> "subprocess.Popen[bytes]":
    return subprocess.Popen(
        [sys.executable, "-m", "sim.simulate.ahead", *kernels],
        env=package_environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
