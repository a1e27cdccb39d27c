"""Distributions of lamps as the table that kernels sample and look up."""

from collections.abc import Sequence

import numpy as np

from sim.geometry.mesh import FloatArray, IntArray
from sim.lamps.lamp import LampShape


def pack_beams(shapes: Sequence[LampShape]) -> tuple[IntArray, FloatArray]:
    """Return where each lamp's angular law lies, (lamp, 3), and all laws in one table, scaled to unit power.

    A row holds the law's start in the table, or -1 for Lambert's, and its counts of polar angles and of azimuths. The
    head of `sim.transport.beams` says how a law lies in the table.
    """
    rows = np.full((len(shapes), 3), -1, dtype=np.int64)
    table = np.zeros(0)
    for lamp, shape in enumerate(shapes):
        law = shape.directions
        if law is None or shape.axes is None:
            continue
        rows[lamp] = len(table), len(law.polar), len(law.azimuth)
        below = law.below()
        # The last share is one to the last bit, so that no random number lies beyond it.
        parts = (shape.axes, law.polar, below / below[-1], law.azimuth, law.intensity / law.power)
        table = np.concatenate([table, *(part.ravel() for part in parts), law.around().ravel() / law.power])
    return rows, table
