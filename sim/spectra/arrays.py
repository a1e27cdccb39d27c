"""Array types and checks shared by the spectral modules."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
WavelengthFunction = Callable[[FloatArray], FloatArray]
"""A function of wavelength [nm]: (n,) in, (n, ...) out."""


def read_only(values: npt.ArrayLike) -> FloatArray:
    """Return a private float copy of `values` that cannot be written to.

    Parameters
    ----------
    values : array_like of float
        Numbers of any shape.

    Returns
    -------
    float array of the same shape, not writeable

    Raises
    ------
    ValueError
        If an entry is not a number.
    """
    copy = np.array(values, dtype=np.float64)
    copy.setflags(write=False)
    return copy


def checked_edges(edges_nm: npt.ArrayLike) -> FloatArray:
    """Return band edges as a read-only array after checking them.

    Parameters
    ----------
    edges_nm : (n_band + 1,) array_like of float [nm]
        Edges of adjoining bands.

    Returns
    -------
    (n_band + 1,) float [nm]

    Raises
    ------
    ValueError
        If there are fewer than two, one is not finite, or they do not increase.
    """
    edges = read_only(edges_nm)
    if edges.ndim != 1 or edges.size < 2:
        raise ValueError(f"band edges must be a list of at least two wavelengths, not shape {edges.shape}")
    if not np.all(np.isfinite(edges)):
        raise ValueError("band edges must be finite wavelengths in nm")
    if not np.all(np.diff(edges) > 0):
        at = int(np.argmin(np.diff(edges) > 0))
        raise ValueError(f"band edges must increase: {edges[at]:g} nm is followed by {edges[at + 1]:g} nm")
    return edges


def checked_amounts(values: npt.ArrayLike, what: str) -> FloatArray:
    """Return a list of finite numbers >= 0 as a read-only array.

    Parameters
    ----------
    values : (n,) array_like of float
    what : str
        Noun for the message.

    Raises
    ------
    ValueError
        If it is not a list, or a number is negative or not finite.
    """
    amounts = read_only(values)
    if amounts.ndim != 1:
        raise ValueError(f"{what} must be a list of numbers, not of shape {amounts.shape}")
    if not np.all(np.isfinite(amounts)):
        raise ValueError(f"{what} must be finite")
    if np.any(amounts < 0):
        raise ValueError(f"{what} must not be negative")
    return amounts
