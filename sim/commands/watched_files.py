"""Files that a program looks at while it waits: a scene file, and the files that it names."""

import os
import time
from pathlib import Path

LOOK_EVERY_S = 0.1
SETTLED_S = 0.03
"""What did not change for so long is written to its end, as far as can be told from outside."""
GAP_S = 1.0
"""Programs that save by taking the old file away first leave a gap: for so long a file may be missing or empty."""

Mark = tuple[int, int, int]


def mark(path: Path) -> Mark | None:
    """Return what tells one state of a file from another: time, size and place on disk; None where there is none."""
    try:
        found = os.stat(path)
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


class WatchedFiles:
    """A scene file and the files that it names, each as it was before it was read.

    Parameters
    ----------
    scene : Path
    """

    def __init__(self, scene: Path) -> None:
        self._scene = scene
        self._read: dict[Path, Mark | None] = {}
        self.begin()

    @property
    def paths(self) -> tuple[Path, ...]:
        """The files, that of the scene first."""
        return tuple(self._read)

    def begin(self) -> None:
        """Forget what was read: the scene file is about to be read anew."""
        self._read = {}
        self.note(self._scene)

    def note(self, path: Path) -> None:
        """Look at a file that is about to be read, if it was not read since `begin`."""
        if path not in self._read:
            self._read[path] = mark(path)

    def saved(self) -> tuple[Path, ...]:
        """Return those that are no longer as they were read; a file that appears or goes is one of them."""
        return tuple(path for path, before in self._read.items() if mark(path) != before)

    def wait(self) -> None:
        """Wait until one was saved and is written to its end."""
        while not self.saved():
            time.sleep(LOOK_EVERY_S)
        end, before = time.monotonic() + GAP_S, None
        while (now := [mark(path) for path in self._read]) != before or (self._gap() and time.monotonic() < end):
            before = now
            time.sleep(SETTLED_S)

    def _gap(self) -> bool:
        """Whether a file that was there is missing or empty."""
        there = (path for path, before in self._read.items() if before is not None and before[1])
        return any((mark(path) or (0, 0, 0))[1] == 0 for path in there)
