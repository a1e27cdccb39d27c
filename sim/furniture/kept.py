"""What mesh files gave, kept while they stay as they are: a scene asks for the same mesh several times."""

import os
import time
from collections.abc import Callable, Hashable
from pathlib import Path
from typing import Generic, TypeVar

SETTLED_S = 1.0
"""A file that was saved less long ago may be saved again at what its folder takes for the same time."""

Held = TypeVar("Held")


class Kept(Generic[Held]):
    """What was made of files, up to a size in all; what was not asked for longest goes first.

    Parameters
    ----------
    size_of : callable
        Returns the size of what was made.
    most : int
        That is kept, by that size.
    """

    def __init__(self, size_of: Callable[[Held], int], most: int) -> None:
        self._size_of = size_of
        self._held: dict[Hashable, Held] = {}
        self.most = most

    def of(self, path: Path, how: Hashable, make: Callable[[], Held]) -> Held:
        """Return what is made of a file, anew if the file is not as it was, and keep it; not to be written to.

        Parameters
        ----------
        path : Path
        how : Hashable
            All else that it depends on.
        make : callable
            Returns it.

        Raises
        ------
        OSError
            If there is no such file.
        """
        state = os.stat(path)
        key = (path.absolute(), state.st_mtime_ns, state.st_size, state.st_ino, how)
        if key in self._held:
            # The one asked for last comes last.
            self._held[key] = held = self._held.pop(key)
            return held
        made = make()
        if time.time() - state.st_mtime > SETTLED_S:
            self._held[key] = made
            while sum(map(self._size_of, self._held.values())) > self.most:
                del self._held[next(iter(self._held))]
        return made
