"""numba's cache of a kernel, in which a process waits for a kernel that another process is compiling.

numba itself makes sure that what two processes write is whole, but has both compile.
"""

import sys
from io import TextIOWrapper
from pathlib import Path
from threading import Event
from typing import Any

from numba.core.caching import FunctionCache
from numba.core.runtime.nrt import rtsys

if sys.platform != "win32":
    import fcntl

TURN_S, TURNS = 0.05, 2400
"""How long to wait before the next look, and how often: two minutes in all, since a process may have been halted."""


def share(kernel: Any) -> None:
    """Give a compiled kernel such a cache."""
    kernel._cache = SharedCache(kernel.py_func)


class Waiting:
    """What makes a cache of numba's the shared one of one kernel.

    A process that finds nothing there holds the kernel's lock until it has compiled it. The system takes the lock back
    from a process that ends. Where there are no locks, on Windows and on some network drives, and where the other takes
    too long, each process compiles for itself.
    """

    _lock: TextIOWrapper | None = None

    def _load_overload(self, sig: Any, target_context: Any) -> Any:
        cache: Any = super()
        found = cache._load_overload(sig, target_context)
        if found is None and self._wait():
            found = cache._load_overload(sig, target_context)
            if found is not None:
                self._release()
        return found

    def save_overload(self, sig: Any, data: Any) -> None:
        """Save what was compiled for whoever waits for it."""
        cache: Any = super()
        try:
            cache.save_overload(sig, data)
        finally:
            self._release()

    def _wait(self) -> bool:
        """Wait until no other process compiles the kernel; return whether there may be something new in the cache."""
        if sys.platform == "win32" or self._lock is not None:
            return False
        own: Any = self
        own._impl.locator.ensure_cache_path()
        lock = Path(own._cache_path, f"{own._impl.filename_base}.lock").open("w", encoding="ascii")
        for _ in range(TURNS):
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                Event().wait(TURN_S)
                continue
            except OSError:
                break
            self._lock = lock
            return True
        lock.close()
        return False

    def _release(self) -> None:
        if self._lock is not None:
            self._lock.close()
            self._lock = None


class SharedCache(Waiting, FunctionCache):
    """The shared cache of one kernel of the processor's."""

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return what was compiled for a signature, or None; what compiles is loaded only where there is nothing.

        numba would load it first, which takes longer than to load all kernels of a run.
        """
        rtsys.initialize(target_context)
        with self._guard_against_spurious_io_errors():
            return self._load_overload(sig, target_context)
