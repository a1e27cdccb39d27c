"""Memory for large arrays of which much is never written."""

import math
import mmap
from typing import TypeVar

import numpy as np
import numpy.typing as npt

Kind = TypeVar("Kind", bound=np.generic)


def zeros_by_page(shape: tuple[int, ...], kind: type[Kind]) -> npt.NDArray[Kind]:
    """Return zeros whose memory is taken in small pages, each when it is first written.

    numpy asks the system for pages of megabytes. Numbers that mostly stay zero take half as much memory again so. Sums
    that kernels add to all over are not for this: small pages cost them more than they save.

    Parameters
    ----------
    shape : tuple of int
    kind : numpy type
    """
    size = math.prod(shape) * np.dtype(kind).itemsize
    if size == 0 or not hasattr(mmap, "MADV_NOHUGEPAGE"):  # which Linux alone has
        return np.zeros(shape, dtype=kind)
    pages = mmap.mmap(-1, size, flags=mmap.MAP_PRIVATE | mmap.MAP_ANONYMOUS)
    pages.madvise(mmap.MADV_NOHUGEPAGE)
    return np.frombuffer(pages, dtype=kind).reshape(shape)
