"""A straight tube lamp."""

from typing import Literal

import numpy as np
from pydantic import Field

from sim.geometry.mesh import FloatArray
from sim.geometry.sweeps import cylinder, swept_tube
from sim.lamps.lamp import SIDES, LampBase, LampShape, across
from sim.units import Gap, Length, Position


class Tube(LampBase):
    """A straight round tube that glows evenly along its side; its two ends are dark.

    ============  ===================================================  ==================
    key           meaning                                              unit, default
    ============  ===================================================  ==================
    from          one end of the lit part, on the axis                 three lengths
    to            the other end                                        three lengths
    radius        of the tube                                          length
    dark_ends     how far the tube goes on, dark, at either end        length, 0
    glass_length  length of the whole tube, instead of `dark_ends`     length
    ============  ===================================================  ==================

    All lamps also have: name, spectrum, output, level, facing, body, maintained, age, warm_up.

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
    tube on end needs one of its own. The lit part is some centimetres shorter than the glass; what lies beyond it is
    built only if `dark_ends` or `glass_length` says so, and then stands in the way of light and returns some by the law
    of the body. An attached reflector is as long as the lit part, unless its own length says otherwise.
    """

    kind: Literal["tube"]
    start: Position = Field(alias="from")
    end: Position = Field(alias="to")
    radius: Length
    dark_ends: Gap = 0.0
    glass_length: Length | None = None

    @property
    def _ends(self) -> tuple[FloatArray, FloatArray]:
        return np.array(self.start), np.array(self.end)

    def _check_shape(self) -> None:
        start, end = self._ends
        length = float(np.linalg.norm(end - start))
        if length == 0.0:
            raise ValueError("'from' and 'to' are the same point; they are the two ends of the lit part")
        if self.glass_length is not None:
            if "dark_ends" in self.model_fields_set:
                raise ValueError("'dark_ends' and 'glass_length' say the same thing twice; leave one of them out")
            if self.glass_length < length:
                raise ValueError(
                    f"glass_length {self.glass_length * 100:g} cm is less than the lit part, {length * 100:g} cm; "
                    "'from' and 'to' are the two ends of the lit part"
                )
        if across(np.array(self.facing), (end - start) / length) is None:
            raise ValueError(
                "the tube runs along its 'facing' (down, unless the lamp says otherwise); "
                "give a facing square to it, such as [1, 0, 0]"
            )

    @property
    def doubt(self) -> str | None:
        """What may be a slip of the pen: a tube that is shorter than it is thick can still be traced."""
        start, end = self._ends
        length = float(np.linalg.norm(end - start))
        if self.radius < length:
            return None
        return (
            f"radius {self.radius * 1000:g} mm is not less than the tube's length, {length * 1000:g} mm; "
            "is it a diameter, or in another unit?"
        )

    @property
    def reach(self) -> float:
        """Its radius [m]."""
        return self.radius

    def shape(self) -> LampShape:
        """Return a closed prism whose sides are lit between the dark ends."""
        start, end = self._ends
        length = float(np.linalg.norm(end - start))
        axis = (end - start) / length
        facing = across(np.array(self.facing), axis)
        assert facing is not None, "validation refuses a tube along its facing"
        dark = self.dark_ends if self.glass_length is None else 0.5 * (self.glass_length - length)
        if dark > 0.0:
            points = np.stack([start - dark * axis, start, end, end + dark * axis])
            body, first = swept_tube(points, np.full(4, self.radius), SIDES), 2 * SIDES
        else:
            body, first = cylinder(start, end, self.radius, SIDES), 0
        row = np.arange(len(body.faces))
        return LampShape(
            body=body,
            emits=(first <= row) & (row < first + 2 * SIDES),
            start=start,
            end=end,
            centre=0.5 * (start + end),
            facing=facing,
            radius=self.radius,
        )
