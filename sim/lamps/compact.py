"""Compact lamps: one coil, and the choice between it and limbs."""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from sim.geometry.mesh import FloatArray
from sim.geometry.sweeps import swept_tube
from sim.lamps.compact_base import LEAST_GAP, CompactBase
from sim.lamps.lamp import LampShape
from sim.lamps.limbs import Limbs
from sim.units import Length

COIL_SIDES = 32
COIL_STEPS = 40
"""Sides of a coil's tube, and pieces of a full turn.

As for a straight tube, perimeter and centre line keep their lengths, so the lit area is exact. The outline differs by
0.1 % at most in what a point four lamp radii away receives, from whatever side (against 128 sides and 144 pieces).
"""


class Helix(CompactBase):
    """A compact lamp of one coiled tube, right-handed, which shades itself.

    ============  ==============================================================  =====================
    key           meaning                                                         unit, default
    ============  ==============================================================  =====================
    base          point on the axis level with the start of the tube's centre     three lengths
                  line
    facing        from the base to the tip; readings are taken that way           direction, [0, 0, -1]
    turns         how often the tube goes round the axis                          0.5 to 40
    height        rise of the tube's centre line from its start to its end        length
    coil_radius   from the axis to the tube's centre line                         length
    tube_radius   radius of the tube                                              length
    turn          turns the coil about the axis; at 0 it starts towards +x        angle, 0
                  (towards +y where the axis runs along x)
    ============  ==============================================================  =====================

    All lamps also have: name, spectrum, output, level, body, maintained, age, warm_up.

    Example::

        [[lamps]]
        name = "coil"
        kind = "compact"
        form = "helix"
        base = ["60 cm", "30 cm", "58 cm"]
        turns = 3.5
        height = "6 cm"
        coil_radius = "22 mm"
        tube_radius = "5 mm"
        spectrum = { bands = [{ peak = "310 nm", fwhm = "40 nm", from = "280 nm", to = "400 nm" }] }
        output = { uvb = "100 uW/cm2", at = "20 cm", edge = "320 nm", setting = "bare" }

    Notes
    -----
    The tube glows evenly, its two ends are dark. Real coils mostly run up and down again as two strands side by
    side; one coil with the same number of strands over the height stands for that. Distances of readings count from
    the middle of the lamp, so at the tip half its height is used up.
    """

    form: Literal["helix"]
    turns: Annotated[float, Field(ge=0.5, le=40.0)]
    height: Length
    coil_radius: Length
    tube_radius: Length

    def _check_shape(self) -> None:
        if self.coil_radius < (1.0 + LEAST_GAP) * self.tube_radius:
            raise ValueError(
                f"coil_radius {self.coil_radius * 1000:g} mm must exceed tube_radius, "
                f"{self.tube_radius * 1000:g} mm, or the coil closes over its axis"
            )
        gap = self._strand_distance()
        if gap < (2.0 + LEAST_GAP) * self.tube_radius:
            raise ValueError(
                f"neighbouring turns touch: their centre lines are {gap * 1000:.4g} mm apart and the tube is "
                f"{self.tube_radius * 2000:g} mm thick; use fewer turns, more height or a thinner tube"
            )

    def _strand_distance(self) -> float:
        """Return the least distance between parts of the centre line that lie half a turn or more apart [m]."""
        angle = np.linspace(np.pi, 2.0 * np.pi * max(self.turns, 0.5), 1 + round(720 * max(self.turns, 0.5)))
        chord = 2.0 * self.coil_radius * np.sin(0.5 * angle)
        rise = self.height / self.turns * angle / (2.0 * np.pi)
        return float(np.hypot(chord, rise).min())

    @property
    def reach(self) -> float:
        """Half its height and the tube's radius [m]."""
        return 0.5 * self.height + self.tube_radius

    def shape(self) -> LampShape:
        """Return one closed tube, lit but for its two ends."""
        base, axis = np.array(self.base), np.array(self.facing)
        line = self._centre_line()
        body = swept_tube(line, np.full(len(line), self.tube_radius), COIL_SIDES)
        return LampShape(
            body=body,
            emits=np.arange(len(body.faces)) < 2 * COIL_SIDES * (len(line) - 1),
            start=base,
            end=base + self.height * axis,
            centre=base + 0.5 * self.height * axis,
            facing=axis,
            radius=self.coil_radius + self.tube_radius,
        )

    def _centre_line(self) -> FloatArray:
        """Return the polyline that stands for the tube's centre line, (n, 3) [m].

        Its pieces touch the coil in their middles, the first and the last are halves: so the ends are square to the
        coil. The whole is then scaled to the coil's length.
        """
        pieces = int(np.ceil(COIL_STEPS * self.turns))
        half = np.pi * self.turns / pieces
        share = np.concatenate([[0.0], (np.arange(pieces) + 0.5) / pieces, [1.0]])
        distance = np.full(pieces + 2, self.coil_radius * half / np.sin(half))
        distance[[0, -1]] = self.coil_radius * half / np.tan(half)
        rise = self.height * share[:, None] * np.array(self.facing)
        line: FloatArray = (
            np.array(self.base) + rise + distance[:, None] * self._around(2.0 * np.pi * self.turns * share)
        )
        return line


Compact = Annotated[Limbs | Helix, Field(discriminator="form")]
"""Any compact lamp, told apart by its form."""
