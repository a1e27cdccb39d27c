"""What compact lamps share."""

from typing import Literal

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.lamps.lamp import LampBase, frame_about
from sim.units import Angle, Position

LEAST_GAP = 0.01
"""Least gap between the surfaces of two limbs or turns, over the tube's radius; the prisms need a part of it."""


class CompactBase(LampBase):
    """Keys that compact lamps share: where the base is, and how they are turned about their axis."""

    kind: Literal["compact"]
    base: Position
    turn: Angle = 0.0

    @property
    def _axes(self) -> FloatArray:
        """Right-handed unit axes, (3, 3): towards the first limb, square to it, and along the lamp."""
        return frame_about(np.array(self.facing))

    def _around(self, angle: FloatArray) -> FloatArray:
        """Return unit vectors square to the axis at angles from the first direction [rad], (n, 3)."""
        x, y, _ = self._axes
        around: FloatArray = np.cos(angle + self.turn)[:, None] * x + np.sin(angle + self.turn)[:, None] * y
        return around
