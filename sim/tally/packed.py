"""Irradiance in a third to a fifth of the room, to the last bit.

A photon carries all bands along one path, so neighbouring bands of a receiver stand in nearly the same ratio in every
replicate. What is kept is how far the bits of each value are from those of its neighbour times that ratio: small whole
numbers, sorted by significance and deflated.
"""

import os
import threading
import zlib
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import numpy.typing as npt

Values = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]
MOST_THREADS = 4
FASTEST = 1
"""Level of deflation, which looks for nothing but runs of a byte: to look for more takes half as long again and saves a
tenth."""
TELLING = 4
"""Replicates whose mean tells the ratios of bands well enough."""


class _Scratch(threading.local):
    """Memory of each thread: what is given back after every replicate is taken anew from the system.

    ``guess`` is zero in the first band.
    """

    def __init__(self, shape: tuple[int, ...]) -> None:
        self.guess, self.left = np.zeros(shape, dtype=np.float32), np.zeros(shape, dtype=np.int32)
        self.planes = np.zeros((4, self.left.size), dtype=np.uint8)


def pack(values: Values) -> dict[str, npt.NDArray[Any]]:
    """Return (replicate, receiver, lamp, band) values as arrays by name; the same values give the same bytes."""
    mean = values[:TELLING].mean(axis=(0, 1), dtype=np.float64)
    ratio = np.ones_like(mean)
    np.divide(mean[:, 1:], mean[:, :-1], out=ratio[:, 1:], where=mean[:, :-1] > 0.0)
    steps = np.clip(ratio, 0.0, 1e6).astype(np.float32)
    scratch = _Scratch(values.shape[1:])
    with ThreadPoolExecutor(_threads()) as pool:
        pieces = list(pool.map(lambda replicate: _deflated(replicate, steps, scratch), values))
    return {
        "shape": np.array(values.shape, dtype=np.int64),
        "steps": steps,
        "ends": np.cumsum([len(piece) for piece in pieces], dtype=np.int64),
        "pieces": np.frombuffer(b"".join(pieces), dtype=np.uint8),
    }


def unpack(arrays: Mapping[str, npt.NDArray[Any]]) -> Values:
    """Return the values of `pack`.

    Raises
    ------
    ValueError
        If they are damaged.
    """
    values = np.zeros(tuple(arrays["shape"]), dtype=np.float32)
    starts = np.concatenate([[0], arrays["ends"][:-1]])

    def fill(replicate: int) -> None:
        piece = arrays["pieces"][starts[replicate] : arrays["ends"][replicate]]
        try:
            _inflate(zlib.decompress(piece.tobytes()), arrays["steps"], values[replicate])
        except zlib.error as error:
            raise ValueError(str(error)) from None

    with ThreadPoolExecutor(_threads()) as pool:
        list(pool.map(fill, range(len(values))))
    return values


def _threads() -> int:
    return min(MOST_THREADS, os.cpu_count() or 1)


def _deflated(values: Values, steps: Values, scratch: _Scratch) -> bytes:
    """Return (receiver, lamp, band) values in the order of the significance of their bytes."""
    guess, left, planes = scratch.guess, scratch.left, scratch.planes
    with np.errstate(over="ignore", under="ignore"):
        np.multiply(values[..., :-1], steps[:, 1:], out=guess[..., 1:])
        np.subtract(values.view(np.int32), guess.view(np.int32), out=left)
    planes[:] = left.view(np.uint8).reshape(-1, 4).T
    press = zlib.compressobj(FASTEST, zlib.DEFLATED, zlib.MAX_WBITS, zlib.DEF_MEM_LEVEL, zlib.Z_RLE)
    return press.compress(planes.data) + press.flush()


def _inflate(stored: bytes, steps: Values, values: Values) -> None:
    """Fill in the values of `_deflated`, band after band."""
    by_significance: Bytes = np.frombuffer(stored, dtype=np.uint8).reshape(4, -1)
    left = np.ascontiguousarray(by_significance.T).view(np.int32).reshape(values.shape)
    # Whole bands lie in one run each while they are put together: strided ones took nearly twice as long.
    bands = np.ascontiguousarray(np.moveaxis(left, -1, 0))
    with np.errstate(over="ignore", under="ignore"):
        for band in range(1, len(bands)):
            bands[band] += (bands[band - 1].view(np.float32) * steps[:, band]).view(np.int32)
    values[...] = np.moveaxis(bands.view(np.float32), 0, -1)
