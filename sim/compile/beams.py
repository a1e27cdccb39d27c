"""Distributions of lamps as the arrays that kernels sample and look up."""

from collections.abc import Sequence

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.lamps.distribution import Distribution
from sim.lamps.lamp import LampShape
from sim.transport.arrays import Beams


def pack_beams(shapes: Sequence[LampShape]) -> Beams:
    """Return the angular laws of the lamps that have one of their own, scaled to unit power."""
    row = np.full(len(shapes), -1, dtype=np.int64)
    laws: list[Distribution] = []
    axes: list[FloatArray] = []
    for lamp, shape in enumerate(shapes):
        if shape.directions is not None and shape.axes is not None:
            row[lamp] = len(laws)
            laws.append(shape.directions)
            axes.append(shape.axes)
    return Beams(
        row=row,
        axes=np.array(axes, dtype=np.float64).reshape(-1, 3, 3),
        first_polar=_starts([len(law.polar) for law in laws]),
        first_azimuth=_starts([len(law.azimuth) for law in laws]),
        first=_starts([law.intensity.size for law in laws]),
        polar=_flat([law.polar for law in laws]),
        below=_flat([_shares(law) for law in laws]),
        azimuth=_flat([law.azimuth for law in laws]),
        density=_flat([law.intensity / law.power for law in laws]),
        around=_flat([law.around() / law.power for law in laws]),
    )


def _starts(counts: Sequence[int]) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    return np.cumsum([0, *counts], dtype=np.int64)


def _flat(parts: Sequence[FloatArray]) -> FloatArray:
    return np.concatenate([np.zeros(0), *(part.ravel() for part in parts)])


def _shares(law: Distribution) -> FloatArray:
    """Return the share of the power within each polar angle; the last is one to the last bit."""
    below = law.below()
    shares: FloatArray = below / below[-1]
    return shares
