"""A command on a terminal that a test reads."""

import os
import pty
import re
import select
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_S = 180.0
"""For a step of a run on a busy machine, compilation included."""


def command(*arguments: str | Path) -> list[str]:
    """Return the words of ``vivray`` with these arguments."""
    return [sys.executable, "-m", "sim", *map(str, arguments)]


class Terminal:
    """A command whose stderr, with its progress bar, goes to a terminal; so may its stdout, or else it is lost."""

    def __init__(self, arguments: list[str], *, stdout: bool = False) -> None:
        self._ours, theirs = pty.openpty()
        environment = os.environ | {"TERM": "xterm", "COLUMNS": "120"}
        self.process = subprocess.Popen(
            arguments,
            cwd=ROOT,
            stdin=theirs,
            stdout=theirs if stdout else subprocess.DEVNULL,
            stderr=theirs,
            env=environment,
        )
        os.close(theirs)
        self.shown = ""

    def wait_for(self, pattern: str, times: int = 1) -> None:
        """Read until a pattern was shown so many times since the start."""
        end = time.monotonic() + PATIENCE_S
        while len(re.findall(pattern, self.shown)) < times:
            assert time.monotonic() < end, f"no {pattern!r} {times} times in {self.shown[-500:]!r}"
            assert self.process.poll() is None, f"ended with {self.process.returncode}: {self.shown[-500:]!r}"
            self._read()

    def wait_until(self, done: Callable[[], bool]) -> None:
        """Read until something is so."""
        end = time.monotonic() + PATIENCE_S
        while not done():
            assert time.monotonic() < end, f"it does not come to it: {self.shown[-500:]!r}"
            self._read()

    def ended(self) -> int:
        """Return the exit code; what is shown is read until then, so that the command does not wait for us."""
        end = time.monotonic() + PATIENCE_S
        while self.process.poll() is None:
            assert time.monotonic() < end, "the command does not end"
            self._read()
        return self.process.returncode

    def _read(self) -> None:
        ready, _, _ = select.select([self._ours], [], [], 0.1)
        if ready:
            try:
                self.shown += os.read(self._ours, 65536).decode(errors="replace")
            except OSError:  # the other end is closed
                time.sleep(0.05)

    def close(self) -> None:
        """End the command, however far it is."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        os.close(self._ours)
