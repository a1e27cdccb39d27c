"""Zeros by page: zeros of a shape and a kind, to be written, apart from all others."""

import numpy as np
import pytest

from sim.tally.pages import zeros_by_page


@pytest.mark.parametrize("shape", [(), (0, 5), (3,), (7, 1000, 11)])
@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_they_are_zeros(shape: tuple[int, ...], kind: type[np.float32 | np.float64]) -> None:
    found = zeros_by_page(shape, kind)
    np.testing.assert_array_equal(found, np.zeros(shape, dtype=kind))
    assert (found.shape, found.dtype) == (shape, np.dtype(kind))
    assert found.flags.writeable
    assert found.flags.c_contiguous
    assert found.ctypes.data % found.itemsize == 0


def test_each_has_memory_of_its_own() -> None:
    first, second = zeros_by_page((5, 600), np.float64), zeros_by_page((5, 600), np.float64)
    first += 1.0
    assert not second.any()
    del second
    assert float(first.sum()) == 3000.0
