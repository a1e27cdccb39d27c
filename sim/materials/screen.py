"""The law of a woven wire screen, by its wires and by how far apart they are."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from sim.materials.curve import Reflectance
from sim.spec import Spec
from sim.units import Length

INCH = 0.0254
Count = Annotated[float, Field(gt=0.0)]


class Screen(Spec):
    """A woven screen of round wires, by wire diameter and pitch or mesh count in each direction.

    One value serves both directions. Of two, the first is that of the wires along the surface's first edge (x on a
    lid), the second that of the wires along the other edge. Say either `pitch` or `mesh`.

    ===========  ==================================================================  ==============
    key          meaning                                                             unit
    ===========  ==================================================================  ==============
    wire         diameter, or one for each set                                       length
    pitch        distance of wire centres, or one each                               length
    mesh         wires to an inch, or one count each, instead of the pitch           number
    reflectance  share that the wires return of what meets them, a number or a
                 table; 0, black, if left out                                        0 to 1
    ===========  ==================================================================  ==============

    Example::

        [laws.lid-mesh]
        kind = "screen"
        wire = "0.28 mm"
        mesh = [18, 16]
        reflectance = 0.6

    Notes
    -----
    A mesh count is 25.4 mm over the pitch (ASTM E2016). On a curved surface the first wires run along the projection
    of their direction, as those of cloth do that is laid over it. Wires are matt; bright metal wire sends more of its
    light on and less back. Crimp is left out, so a plain weave and a twill of the same wire and pitch are one screen.
    """

    kind: Literal["screen"]
    wire: Length | tuple[Length, Length]
    pitch: Length | tuple[Length, Length] | None = None
    mesh: Count | tuple[Count, Count] | None = None
    reflectance: Reflectance = 0.0

    @model_validator(mode="after")
    def _wires_apart(self) -> "Screen":
        if (self.pitch is None) == (self.mesh is None):
            raise ValueError("a screen needs its pitch, such as '1.6 mm', or its mesh count, such as 16; one of them")
        if max(self.fill) >= 1.0:
            raise ValueError("the wire is as thick as its pitch or thicker, so nothing passes; pitch must exceed wire")
        return self

    @property
    def pitches(self) -> tuple[float, float]:
        """Distance of the centres of the wires along the first and along the second edge [m]."""
        if self.pitch is not None:
            return _pair(self.pitch)
        first, second = _pair(self.mesh or 0.0)
        return INCH / first, INCH / second

    @property
    def fill(self) -> tuple[float, float]:
        """Wire diameter over pitch of the wires along the first and along the second edge."""
        (wire, other), (pitch, across) = _pair(self.wire), self.pitches
        return wire / pitch, other / across


def _pair(value: float | tuple[float, float]) -> tuple[float, float]:
    return value if isinstance(value, tuple) else (value, value)
