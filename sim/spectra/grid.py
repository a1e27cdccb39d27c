"""Wavelength bands: how the spectrum is cut for a trace."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from sim.spectra.arrays import FloatArray, WavelengthFunction, checked_edges
from sim.spectra.quadrature import points_between


@dataclass(frozen=True, eq=False)
class BandGrid:
    """Adjoining wavelength bands.

    A wavelength on an inner edge belongs to the band above it; the top edge belongs to the last band.

    Parameters
    ----------
    edges_nm : (n_band + 1,) float, increasing [nm]
        Edges of the bands.

    Raises
    ------
    ValueError
        If there are fewer than two edges or they do not increase.
    """

    edges_nm: FloatArray

    def __post_init__(self) -> None:
        """Check the edges and make them read-only."""
        object.__setattr__(self, "edges_nm", checked_edges(self.edges_nm))

    @property
    def n_band(self) -> int:
        """Number of bands."""
        return self.edges_nm.size - 1

    @property
    def centres(self) -> FloatArray:
        """Middle of each band, (n_band,) float [nm]."""
        return (self.edges_nm[:-1] + self.edges_nm[1:]) / 2

    @property
    def labels(self) -> tuple[str, ...]:
        """One text a band, as "280-315 nm"."""
        edges = [f"{edge:.10g}" for edge in self.edges_nm]
        return tuple(f"{low}-{high} nm" for low, high in pairwise(edges))


def uniform_edges(low_nm: float, high_nm: float, step_nm: float) -> FloatArray:
    """Return edges `step_nm` apart from `low_nm` up; a remainder of the range makes a shorter last band.

    Parameters
    ----------
    low_nm, high_nm : float [nm]
        Ends of the grid.
    step_nm : float [nm]
        Width of a band.

    Returns
    -------
    (n_band + 1,) float [nm]

    Raises
    ------
    ValueError
        If the step is not positive or the range is empty.
    """
    if not step_nm > 0:
        raise ValueError(f"the step of a band grid must be above 0 nm, not {step_nm:g} nm")
    # The allowance keeps a rounding error from adding a sliver of a band at the top.
    count = max(1, int(np.ceil((high_nm - low_nm) / step_nm - 1e-9)))
    return checked_edges([*(low_nm + step_nm * np.arange(count)), high_nm])


def adaptive_edges(
    curves: Sequence[WavelengthFunction],
    low_nm: float,
    high_nm: float,
    tolerance: float,
    breakpoints_nm: npt.ArrayLike = (),
) -> FloatArray:
    """Return the fewest band edges between which every curve is constant within the tolerance.

    Cells of 1 nm, cut further at the breakpoints, are merged from the bottom up as long as each component of
    each curve keeps within +-tolerance of the middle of its range. Constant curves give one band.

    Parameters
    ----------
    curves : sequence of callables, (n,) float [nm] -> (n,) or (n, ...) float
        What must stay constant in a band: reflectances, transmittances.
    low_nm, high_nm : float [nm]
        Ends of the grid.
    tolerance : float
        Largest departure, absolute, in the unit of the curves.
    breakpoints_nm : (any,) float [nm]
        Where a curve may step or bend; a step elsewhere ends up inside a cell, which then stands alone.

    Returns
    -------
    (n_band + 1,) float [nm]

    Raises
    ------
    ValueError
        If the range is empty, the tolerance is negative, or a curve is not finite.
    """
    if not tolerance >= 0:
        raise ValueError(f"the tolerance of a band grid must not be negative, not {tolerance:g}")
    breakpoints = np.asarray(breakpoints_nm, dtype=np.float64)
    cells = points_between(*checked_edges([low_nm, high_nm]), breakpoints, uniform_edges(low_nm, high_nm, 1.0))
    lowest, highest = _cell_ranges(curves, cells)
    edges = [cells[0]]
    band_low, band_high = lowest[0], highest[0]
    for cell in range(1, cells.size - 1):
        merged_low, merged_high = np.minimum(band_low, lowest[cell]), np.maximum(band_high, highest[cell])
        if np.all(merged_high - merged_low <= 2 * tolerance + 1e-12):
            band_low, band_high = merged_low, merged_high
        else:
            edges.append(cells[cell])
            band_low, band_high = lowest[cell], highest[cell]
    return checked_edges([*edges, cells[-1]])


def _cell_ranges(curves: Sequence[WavelengthFunction], cells_nm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return least and greatest value of each curve component in each cell, (n_cell, n_component) each."""
    n_cell = cells_nm.size - 1
    # The ends are approached from inside: on a breakpoint itself a step has either value.
    places = np.array([1e-6, 0.25, 0.5, 0.75, 1 - 1e-6])
    at = (cells_nm[:-1, None] + np.diff(cells_nm)[:, None] * places).ravel()
    columns = [np.asarray(curve(at), dtype=np.float64).reshape(at.size, -1) for curve in curves]
    values = np.concatenate([np.zeros((at.size, 0)), *columns], axis=1).reshape(n_cell, places.size, -1)
    if not np.all(np.isfinite(values)):
        raise ValueError(f"a curve is not finite everywhere between {cells_nm[0]:g} and {cells_nm[-1]:g} nm")
    return values.min(axis=1), values.max(axis=1)
