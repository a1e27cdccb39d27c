"""Sums of a run by lamp and replicate, and how many photons and paths stand behind them."""

import os
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from sim.compile import CompiledScene
from sim.tally.pages import zeros_by_page
from sim.transport.photons import Sums

REPLICATES = 64
"""Independent estimates of everything. The error of a standard error is 1 / sqrt(2 (n - 1)), 9 % with 64."""

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Tallies:
    """Sums, changed in place while a run goes on (l lamps, r replicates, c cells, s surfaces, q gathered, b bands).

    Attributes
    ----------
    cells : (l, r, c, b) float
        Photon weight that arrived.
    crossed : (l, r, q, b) float
        Photon weight that crossed.
    absorbed : (l, r, s, b) float
    escaped, unfinished : (l, r, b) float
    straight : (l, r, s, b) float
        Photon weight that arrived straight at the cells of each surface whose straight light is gathered.
    direct : (l, r, q + k, b) float
        Sums of irradiance per watt [m-2], at gathered receivers and at the cells whose straight light is gathered.
    paths : (l, r, q, b) float
        Sums of irradiance per watt [m-2].
    photons : (l,) int
        Photons of each lamp in each replicate.
    direct_count : (l, q + k) int
    path_count : (l, q) int
        Points and paths of each receiver in each replicate.
    look : (1,) int
        Photons of each lamp in each replicate at which the error is looked at next. A run that is taken up again looks
        where it would have looked, and so ends where it would have ended.
    """

    cells: FloatArray
    crossed: FloatArray
    absorbed: FloatArray
    escaped: FloatArray
    unfinished: FloatArray
    straight: FloatArray
    direct: FloatArray
    paths: FloatArray
    photons: IntArray
    direct_count: IntArray
    path_count: IntArray
    look: IntArray

    def of_photons(self, lamp: int, replicate: int) -> Sums:
        """Those that photons of a lamp add to in one replicate."""
        return Sums(*(getattr(self, name)[lamp, replicate] for name in Sums._fields))

    @property
    def replicates(self) -> int:
        """How many estimates there are of everything."""
        return int(self.cells.shape[1])

    @property
    def histories(self) -> int:
        """Photons of all lamps and replicates together."""
        return int(self.photons.sum()) * self.replicates

    def arrays(self) -> dict[str, npt.NDArray[np.generic]]:
        """Return all arrays by name."""
        return {item.name: getattr(self, item.name) for item in fields(self)}


def memory_fault(compiled: CompiledScene) -> str | None:
    """Return why a scene cannot be traced on this machine, as one line, or None if its memory holds the sums of it."""
    have = _memory()
    lamps, bands = compiled.band_share.shape
    sums = compiled.cells + 3 * len(compiled.effort) + len(compiled.straight)
    need = lamps * bands * REPLICATES * (8 * sums + 4 * len(compiled.area))
    if have is None or need <= have:
        return None
    return (
        f"{len(compiled.area)} receivers, times {lamps} lamps, times {bands} bands, take "
        f"{need / 1e9:.0f} GB of memory, and this machine has {have / 1e9:.0f}; raise receiver_size, lessen the cells "
        "of grids, or widen the bands"
    )


def _memory() -> int | None:
    """Return how much memory the machine has [bytes], where the system tells."""
    try:
        return os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    except (AttributeError, ValueError, OSError):
        return None


def empty_tallies(compiled: CompiledScene, replicates: int = REPLICATES, *, few_paths: bool = False) -> Tallies:
    """Return tallies of a scene at zero.

    Parameters
    ----------
    compiled : CompiledScene
    replicates : int
    few_paths : bool
        Whether paths and links bring light to few of the receivers: memory is then taken for the sums of these alone.
    """
    lamps, bands = compiled.band_share.shape
    gathered = len(compiled.effort)
    surfaces = len(compiled.surface_names)

    def zeros(*shape: int) -> FloatArray:
        return np.zeros((lamps, replicates, *shape, bands))

    return Tallies(
        cells=zeros(compiled.cells),
        crossed=zeros(gathered),
        absorbed=zeros(surfaces),
        escaped=zeros(),
        unfinished=zeros(),
        straight=zeros(surfaces),
        direct=zeros(gathered + len(compiled.straight)),
        paths=zeros_by_page((lamps, replicates, gathered, bands), np.float64) if few_paths else zeros(gathered),
        photons=np.zeros(lamps, dtype=np.int64),
        direct_count=np.zeros((lamps, gathered + len(compiled.straight)), dtype=np.int64),
        path_count=np.zeros((lamps, gathered), dtype=np.int64),
        look=np.zeros(1, dtype=np.int64),
    )
