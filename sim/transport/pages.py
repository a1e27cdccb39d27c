"""Arrays side by side in large pages of memory.

A processor keeps the addresses of few pages, and its caches hold less of what lies in many small pages, whose places in
memory are random. So trees that rays walk through lie in one run of pages of 2 MiB, where the system has these.
"""

import mmap

import numpy as np
import numpy.typing as npt

LARGE_PAGE = 1 << 21
LINE = 64
"""Bytes that are fetched at once; each array starts at such a place."""
LEAST = 1 << 17
"""Less memory [bytes] than this is near in any pages."""


def _places(arrays: tuple[npt.NDArray[np.generic], ...]) -> tuple[list[int], int]:
    """Return where each array starts, and where the last one ends [bytes]."""
    places, end = [], 0
    for array in arrays:
        places.append(end)
        end += -(-array.nbytes // LINE) * LINE
    return places, end


def side_by_side(arrays: tuple[npt.NDArray[np.generic], ...]) -> list[npt.NDArray[np.generic]]:
    """Return arrays like those given, in one run of memory, of large pages if there are such and they pay."""
    places, size = _places(arrays)
    if size < LEAST or not hasattr(mmap, "MADV_HUGEPAGE"):
        return list(arrays)
    block = mmap.mmap(-1, -(-size // LARGE_PAGE) * LARGE_PAGE + LARGE_PAGE, mmap.MAP_PRIVATE | mmap.MAP_ANONYMOUS)
    try:
        block.madvise(mmap.MADV_HUGEPAGE)
    except OSError:
        # A system without large pages says so, and gives small ones.
        pass
    memory = np.frombuffer(block, dtype=np.uint8)
    start = -memory.ctypes.data % LARGE_PAGE
    found = []
    for array, place in zip(arrays, places, strict=True):
        copy = memory[start + place : start + place + array.nbytes].view(array.dtype).reshape(array.shape)
        copy[...] = array
        found.append(copy)
    return found
