"""Arrays side by side in large pages."""

import mmap

import numpy as np
import pytest

from sim.transport.pages import LEAST, LINE, side_by_side


def arrays(size: int) -> tuple[np.ndarray, ...]:
    """Return arrays of several kinds and shapes, the first of so many numbers."""
    rng = np.random.Generator(np.random.Philox(8))
    return rng.random(size), rng.integers(0, 99, (3, 5), dtype=np.int32), np.zeros((0, 6, 16), dtype=np.float32)


@pytest.mark.parametrize("size", [8, LEAST])
def test_arrays_keep_what_they_hold(size: int) -> None:
    """Values, kinds and shapes; and they may be written to without touching their neighbours."""
    given = arrays(size)
    got = side_by_side(given)
    for one, other in zip(given, got, strict=True):
        assert one.dtype == other.dtype
        assert np.array_equal(one, other)
        assert other.flags.c_contiguous
        assert other.flags.writeable
    got[0][-1] = 7.0
    assert np.array_equal(got[1], given[1])


@pytest.mark.skipif(not hasattr(mmap, "MADV_HUGEPAGE"), reason="no such pages here")
def test_large_ones_start_at_lines_and_lie_in_one_run() -> None:
    """What a vector is loaded from must not lie across two lines; small arrays stay where they are."""
    got = side_by_side(arrays(LEAST))
    starts = [array.ctypes.data for array in got if array.size]
    assert all(start % LINE == 0 for start in starts)
    assert starts[1] - starts[0] == 8 * LEAST
    small = arrays(8)
    assert all(one is other for one, other in zip(small, side_by_side(small), strict=True))


@pytest.mark.skipif(not hasattr(mmap, "MADV_HUGEPAGE"), reason="no such pages here")
def test_a_system_without_large_pages_will_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """It refuses the advice."""
    monkeypatch.setattr(mmap, "MADV_HUGEPAGE", 12_345)
    given = arrays(LEAST)
    assert np.array_equal(side_by_side(given)[0], given[0])
