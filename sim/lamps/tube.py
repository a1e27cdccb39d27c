"""A straight tube lamp."""

from typing import Literal

import numpy as np
from pydantic import Field

from sim.geometry.mesh import FloatArray
from sim.geometry.sweeps import cylinder
from sim.lamps.lamp import SIDES, LampBase, LampShape, across
from sim.units import Length, Position


class Tube(LampBase):
    """A straight round tube that glows evenly along its side; its two ends are dark.

    ==========  =====================================================  ==================
    key         meaning                                                unit
    ==========  =====================================================  ==================
    from        one end of the lit part, on the axis                   three lengths
    to          the other end                                          three lengths
    radius      of the tube                                            length
    ==========  =====================================================  ==================

    All lamps also have: name, spectrum, output, level, facing, body.

    Example::

        [[lamps]]
        name = "tube"
        kind = "tube"
        from = ["30 cm", "30 cm", "55 cm"]
        to = ["85 cm", "30 cm", "55 cm"]
        radius = "8 mm"
        spectrum = { bands = [{ peak = "310 nm", fwhm = "40 nm", from = "280 nm", to = "400 nm" }] }
        output = { uvi = 3.1, at = "30 cm", setting = "bare" }

    Notes
    -----
    Readings are taken from the axis, opposite the middle. `facing` is turned square to the axis where it is not; a
    tube on end needs one of its own. Only the lit part is built: sockets and dark ends beyond it are left out, so
    give the lit length, which is some centimetres less than that of the glass.
    """

    kind: Literal["tube"]
    start: Position = Field(alias="from")
    end: Position = Field(alias="to")
    radius: Length

    @property
    def _ends(self) -> tuple[FloatArray, FloatArray]:
        return np.array(self.start), np.array(self.end)

    def _check_shape(self) -> None:
        start, end = self._ends
        length = float(np.linalg.norm(end - start))
        if length == 0.0:
            raise ValueError("'from' and 'to' are the same point; they are the two ends of the lit part")
        if self.radius >= length:
            raise ValueError(
                f"radius {self.radius * 1000:g} mm is not less than the tube's length, {length * 1000:g} mm; "
                "is it a diameter, or in another unit?"
            )
        if across(np.array(self.facing), (end - start) / length) is None:
            raise ValueError(
                "the tube runs along its 'facing' (down, unless the lamp says otherwise); "
                "give a facing square to it, such as [1, 0, 0]"
            )

    @property
    def reach(self) -> float:
        """Its radius [m]."""
        return self.radius

    def shape(self) -> LampShape:
        """Return a closed prism whose sides are lit."""
        start, end = self._ends
        facing = across(np.array(self.facing), (end - start) / np.linalg.norm(end - start))
        assert facing is not None, "validation refuses a tube along its facing"
        body = cylinder(start, end, self.radius, SIDES)
        return LampShape(
            body=body,
            emits=np.arange(len(body.faces)) < 2 * SIDES,
            start=start,
            end=end,
            centre=0.5 * (start + end),
            facing=facing,
            radius=self.radius,
        )
