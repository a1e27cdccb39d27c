"""Of two processes that need a kernel, one compiles it and the other waits."""

import threading
from pathlib import Path
from typing import Any

import numba
import pytest
from numba.core.registry import cpu_target

from sim.transport.linking import WholeCompiler
from sim.transport.shared_cache import SharedCache, share
from tests.support.sizes import COMPILED

pytestmark = [
    pytest.mark.skipif(not COMPILED, reason="nothing is cached without compilation"),
    pytest.mark.skipif("sys.platform == 'win32'", reason="there are no such locks"),
]

MOMENT_S = 0.3
PATIENCE_S = 60.0
SIGNATURE = (numba.float64,)


def _double(value: float) -> float:
    return 2.0 * value


@pytest.fixture
def caches(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[SharedCache, SharedCache]:
    """Return the cache of one kernel as two processes have it; locks of two open files know no difference."""
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path))
    return SharedCache(_double), SharedCache(_double)


def waiting(cache: SharedCache) -> tuple[threading.Thread, list[Any]]:
    """Return a thread that looks into a cache, and where it puts what it found."""
    found: list[Any] = []
    thread = threading.Thread(target=lambda: found.append(cache.load_overload(SIGNATURE, cpu_target.target_context)))
    thread.start()
    thread.join(MOMENT_S)
    return thread, found


def test_the_second_waits_for_what_the_first_compiles(caches: tuple[SharedCache, SharedCache]) -> None:
    first, second = caches
    assert first.load_overload(SIGNATURE, cpu_target.target_context) is None
    thread, found = waiting(second)
    assert thread.is_alive()
    compiled = numba.njit(pipeline_class=WholeCompiler)(_double)
    compiled.compile(SIGNATURE)
    first.save_overload(SIGNATURE, compiled.overloads[SIGNATURE])
    thread.join(PATIENCE_S)
    assert not thread.is_alive()
    assert [SIGNATURE] == [result.signature.args for result in found]
    assert numba.float64 == found[0].signature.return_type


def test_it_need_not_wait_for_what_is_there(caches: tuple[SharedCache, SharedCache]) -> None:
    compiled = numba.njit(pipeline_class=WholeCompiler)(_double)
    share(compiled)
    assert 6.0 == compiled(3.0)
    other = numba.njit(pipeline_class=WholeCompiler)(_double)
    share(other)
    assert 8.0 == other(4.0)
    assert (1, 0) == (sum(compiled.stats.cache_misses.values()), sum(other.stats.cache_misses.values()))


def test_the_second_compiles_where_the_first_ended_without(caches: tuple[SharedCache, SharedCache]) -> None:
    first, second = caches
    assert first.load_overload(SIGNATURE, cpu_target.target_context) is None
    thread, found = waiting(second)
    assert thread.is_alive()
    assert first._lock is not None
    first._lock.close()  # as the system does for a process that dies
    thread.join(PATIENCE_S)
    assert [None] == found
    second._release()
