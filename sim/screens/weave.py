"""The woven wire screen: what passes between two crossed layers of round wires."""

from typing import Literal

import numpy as np
from pydantic import model_validator

from sim.geometry.mesh import FloatArray
from sim.spec import Spec
from sim.units import Length


class Screen(Spec):
    """A woven screen of black round wires, by wire diameter and pitch in each direction.

    One value serves both directions. The first wires run along the surface's first edge (x on a lid), the second
    along the other edge.

    ==========  =========================================  ==============
    key         meaning                                    unit
    ==========  =========================================  ==============
    wire        diameter, or one for each set              length
    pitch       distance of wire centres, or one each      length
    ==========  =========================================  ==============

    Example::

        [laws.lid-mesh]
        kind = "screen"
        wire = "0.28 mm"
        pitch = "1.5875 mm"

    Notes
    -----
    Wires are black here: the light that they scatter is left out, which makes a bright screen a little too dark.
    """

    kind: Literal["screen"]
    wire: Length | tuple[Length, Length]
    pitch: Length | tuple[Length, Length]

    @model_validator(mode="after")
    def _wires_apart(self) -> "Screen":
        if max(self.fill) >= 1.0:
            raise ValueError("the wire is as thick as its pitch or thicker, so nothing passes; pitch must exceed wire")
        return self

    @property
    def fill(self) -> tuple[float, float]:
        """Wire diameter over pitch of the wires along the first and along the second edge."""
        wires = self.wire if isinstance(self.wire, tuple) else (self.wire, self.wire)
        pitches = self.pitch if isinstance(self.pitch, tuple) else (self.pitch, self.pitch)
        return wires[0] / pitches[0], wires[1] / pitches[1]


def direct_transmittance(fill: tuple[float, float], direction: FloatArray) -> FloatArray:
    """Return the share of light that passes between the wires, by direction.

    Parameters
    ----------
    fill : (float, float)
        Wire diameter over pitch, wires along x and wires along y.
    direction : (..., 3) float
        Unit vectors in the screen's frame: x along the first wires, z normal to the screen.

    Notes
    -----
    A round wire shades its diameter across any direction perpendicular to it, so seen from (sx, sy, sz) wires along
    x take ``d/p sqrt(sy^2 + sz^2) / |sz|`` of the plane; the two layers are taken as independent. This is the
    geometry on which window-screen models of building physics rest (N. Kotey, J. Wright, M. Collins, ASHRAE Trans.
    115(1), 2009). At normal incidence it is the open area ``(1 - d/p)^2`` of ASTM E2016.
    """
    s = np.asarray(direction, dtype=np.float64)
    depth = np.maximum(np.abs(s[..., 2]), 1e-12)
    along_x = 1.0 - fill[0] * np.hypot(s[..., 1], s[..., 2]) / depth
    along_y = 1.0 - fill[1] * np.hypot(s[..., 0], s[..., 2]) / depth
    return np.clip(along_x, 0.0, None) * np.clip(along_y, 0.0, None)
