"""Compact lamps of parallel limbs."""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from sim.geometry.mesh import FloatArray, Mesh, joined
from sim.geometry.sweeps import cylinder, swept_tube
from sim.lamps.compact_base import LEAST_GAP, CompactBase
from sim.lamps.lamp import SIDES, BoolArray, LampShape
from sim.units import Gap, Length

BRIDGE_SIDES = 24

_TIP = np.concatenate([np.zeros(SIDES, np.bool_), np.ones(SIDES, np.bool_)])
"""Which triangles of a limb's two caps are lit: those of the tip, which come last."""


def _sides(limb: Mesh, dark_foot: bool) -> BoolArray:
    """Return which triangles of a limb's sides are lit, its dark part coming first."""
    lit = np.ones(len(limb.faces) - 2 * SIDES, np.bool_)
    if dark_foot:
        lit[: 2 * SIDES] = False
    return lit


class Limbs(CompactBase):
    """A compact lamp of parallel round limbs that stand on a ring round its axis and shade each other.

    ============  ==============================================================  =====================
    key           meaning                                                         unit, default
    ============  ==============================================================  =====================
    base          centre of the ring where the lit part starts                    three lengths
    facing        from the base to the tip; readings are taken that way           direction, [0, 0, -1]
    limbs         number of limbs                                                 1 to 12
    limb_length   lit length of one                                               length
    limb_radius   radius of one                                                   length
    ring          diameter of the circle through the centres of the limbs; not    length
                  for one limb
    turn          turns the ring about the axis; at 0 the first limb stands       angle, 0
                  towards +x (towards +y where the axis runs along x)
    dark_base     length of the dark part behind the lit limbs                    length, 0
    base_radius   radius of a round housing that is this part; without it the     length
                  limbs go on as dark glass
    bridge        radius of the dark bridges that join limbs 1 and 2, 3 and 4     length, none
                  and so on, next to their tips
    ============  ==============================================================  =====================

    All lamps also have: name, spectrum, output, level, body, maintained, age, warm_up.

    Example::

        [[lamps]]
        name = "compact"
        kind = "compact"
        form = "limbs"
        base = ["60 cm", "30 cm", "58 cm"]
        facing = [1, 0, 0]
        limbs = 4
        limb_length = "10 cm"
        limb_radius = "6 mm"
        ring = "28 mm"
        spectrum = { bands = [{ peak = "310 nm", fwhm = "40 nm", from = "280 nm", to = "400 nm" }] }
        output = { electrical = "23 W", uvb_share = "5 %" }

    Notes
    -----
    Each limb is a closed body. Side and tip glow, the end at the base is dark. The dark base and the bridges stand in
    the way of light and return some by the law of the body; they are left out unless asked for. Distances of readings
    count from the middle of the lit limbs, so at the tip half their length is used up.
    """

    form: Literal["limbs"]
    limbs: Annotated[int, Field(ge=1, le=12)]
    limb_length: Length
    limb_radius: Length
    ring: Length | None = None
    dark_base: Gap = 0.0
    base_radius: Length | None = None
    bridge: Length | None = None

    def _check_shape(self) -> None:
        if self.limb_radius >= self.limb_length:
            raise ValueError(
                f"limb_radius {self.limb_radius * 1000:g} mm is not less than limb_length, "
                f"{self.limb_length * 1000:g} mm; is it a diameter, or in another unit?"
            )
        if self.base_radius is not None and self.dark_base == 0.0:
            raise ValueError("'base_radius' needs 'dark_base', the length of the housing")
        if self.bridge is not None:
            self._check_bridge(self.bridge)
        if self.limbs == 1:
            if self.ring is not None:
                raise ValueError("one limb stands on the axis; leave 'ring' out")
            return
        least = (2.0 + LEAST_GAP) * self.limb_radius / float(np.sin(np.pi / self.limbs))
        if self.ring is None:
            raise ValueError(f"{self.limbs} limbs need 'ring', the diameter of the circle through their centres")
        if self.ring < least:
            raise ValueError(
                f"on a ring of {self.ring * 1000:g} mm {self.limbs} limbs of {self.limb_radius * 1000:g} mm radius "
                f"touch; it must be {least * 1000:.4g} mm or more"
            )

    def _check_bridge(self, bridge: float) -> None:
        if self.limbs % 2:
            raise ValueError(f"a bridge joins two limbs, and {self.limbs} is no even number of them")
        if bridge > self.limb_radius:
            raise ValueError(
                f"bridge {bridge * 1000:g} mm is more than limb_radius, {self.limb_radius * 1000:g} mm; it is the "
                "radius of the bridges"
            )

    @property
    def reach(self) -> float:
        """Half its length [m]."""
        return 0.5 * self.limb_length

    @property
    def _from_axis(self) -> float:
        return 0.0 if self.ring is None else 0.5 * self.ring

    def shape(self) -> LampShape:
        """Return one closed prism a limb, its side and tip lit, and the dark parts after them."""
        base, axis = np.array(self.base), np.array(self.facing)
        along = self.limb_length * axis
        feet = base + self._from_axis * self._around(2.0 * np.pi * np.arange(self.limbs) / self.limbs)
        housed = self.base_radius is not None
        limbs = [self._limb(foot, dark=0.0 if housed else self.dark_base) for foot in feet]
        lit = [np.concatenate([_sides(limb, self.dark_base > 0.0 and not housed), _TIP]) for limb in limbs]
        dark = [*self._housing(base, axis), *self._bridges(feet, axis)]
        return LampShape(
            body=joined([*limbs, *dark]),
            emits=np.concatenate([*lit, *(np.zeros(len(mesh.faces), np.bool_) for mesh in dark)]),
            start=base,
            end=base + along,
            centre=base + 0.5 * along,
            facing=axis,
            radius=max(self._from_axis + self.limb_radius, self.base_radius or 0.0),
        )

    def _limb(self, foot: FloatArray, dark: float) -> Mesh:
        axis = np.array(self.facing)
        points = [foot, foot + self.limb_length * axis]
        if dark > 0.0:
            points.insert(0, foot - dark * axis)
        return swept_tube(np.stack(points), np.full(len(points), self.limb_radius), SIDES)

    def _housing(self, base: FloatArray, axis: FloatArray) -> list[Mesh]:
        if self.base_radius is None:
            return []
        # A hair behind the limbs: two surfaces in one place would leave open which of them light meets.
        behind = base - LEAST_GAP * self.limb_radius * axis
        return [cylinder(behind - self.dark_base * axis, behind, self.base_radius, SIDES)]

    def _bridges(self, feet: FloatArray, axis: FloatArray) -> list[Mesh]:
        if self.bridge is None:
            return []
        up = (self.limb_length - self.bridge) * axis
        bridges = []
        for one, other in zip(feet[::2], feet[1::2], strict=True):
            across_gap = (other - one) / np.linalg.norm(other - one)
            # From side to side, a hair off both: within a limb it would swallow what the limb sends out there.
            inset = (1.0 + 0.25 * LEAST_GAP) * self.limb_radius * across_gap
            bridges.append(cylinder(one + up + inset, other + up - inset, self.bridge, BRIDGE_SIDES))
        return bridges
