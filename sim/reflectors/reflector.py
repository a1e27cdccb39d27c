"""Every profile of reflector; a new one is one class and its place in `Reflector`."""

from typing import Annotated, Literal

from pydantic import Field

from sim.geometry.mesh import FloatArray
from sim.reflectors import profile as profiles
from sim.reflectors.base import ReflectorBase
from sim.units import Coordinate, Length


class Flat(ReflectorBase):
    """A flat strip behind the lamp; turned around, a disc.

    ==========  =============================================================  ==============
    key         meaning                                                        unit
    ==========  =============================================================  ==============
    width       across the lamp                                                length
    above       distance behind the lamp's axis, away from its facing          length
    ==========  =============================================================  ==============

    All reflectors also have: name, lamp, sweep, facing, length, from, to, at, law, outside.

    Example::

        [[reflectors]]
        name = "back sheet"
        profile = "flat"
        lamp = "tube"
        width = "8 cm"
        above = "2 cm"
        law = { kind = "mirror", reflectance = 0.85 }
    """

    profile: Literal["flat"]
    width: Length
    above: Length

    def points(self) -> FloatArray:
        """Return the strip's two edges, or its middle and right edge, (2, 2) [m]."""
        points = profiles.flat(self.width, self.above)
        return profiles.right_half(points) if self.sweep == "around" else points

    @property
    def _remedy(self) -> str:
        return f"raise 'above' ({_cm(self.above)}) beyond the lamp's radius"


class Trough(ReflectorBase):
    """A trough with a flat floor and straight sides; turned around, a cone with a flat bottom.

    ============  ===========================================================  ==============
    key           meaning                                                      unit, default
    ============  ===========================================================  ==============
    width         of the opening, between the lips                             length
    depth         from the lips to the floor                                   length
    above         distance of the floor behind the lamp's axis                 length
    floor_width   of the floor                                                 length, width
    ============  ===========================================================  ==============

    All reflectors also have: name, lamp, sweep, facing, length, from, to, at, ends, law, outside.

    Example::

        [[reflectors]]
        name = "trough"
        profile = "trough"
        lamp = "tube"
        width = "9 cm"
        depth = "3 cm"
        above = "15 mm"
        floor_width = "4 cm"
        ends = true
        law = { kind = "glossy", reflectance = 0.85, specular_share = 0.8, roughness = 0.1 }
    """

    profile: Literal["trough"]
    width: Length
    depth: Length
    above: Length
    floor_width: Length | None = None

    def points(self) -> FloatArray:
        """Return its corners, (4, 2), or those of the right half, (3, 2) [m]."""
        floor_width = self.width if self.floor_width is None else self.floor_width
        points = profiles.trough(self.width, self.depth, self.above, floor_width)
        return profiles.right_half(points) if self.sweep == "around" else points

    @property
    def _remedy(self) -> str:
        return f"raise 'above' ({_cm(self.above)}) beyond the lamp's radius, or make the trough wider"


class Parabola(ReflectorBase):
    """A parabola with its focus on the lamp's axis, which sends light along the facing; turned around, a dish.

    ==========  =============================================================  ==============
    key         meaning                                                        unit
    ==========  =============================================================  ==============
    focus       distance of the vertex behind the lamp's axis                  length
    width       of the opening                                                 length
    ==========  =============================================================  ==============

    All reflectors also have: name, lamp, sweep, facing, length, from, to, at, ends, law, outside.

    Example::

        [[reflectors]]
        name = "dish"
        profile = "parabola"
        lamp = "tube"
        focus = "3 cm"
        width = "12 cm"
        law = { kind = "mirror", reflectance = 0.9 }

    Notes
    -----
    The curve z = x^2 / (4 focus) is built of flat facets that lie off it by at most 1e-4 of the width.
    """

    profile: Literal["parabola"]
    focus: Length
    width: Length

    def points(self) -> FloatArray:
        """Return corners on the curve, from edge to edge or from the vertex to the right edge, (p, 2) [m]."""
        points = profiles.parabola(self.focus, self.width)
        return profiles.right_half(points) if self.sweep == "around" else points

    @property
    def _remedy(self) -> str:
        return f"raise 'focus' ({_cm(self.focus)}) beyond the lamp's radius"


class Facets(ReflectorBase):
    """A profile by its corners.

    ==========  =============================================================  ==================
    key         meaning                                                        unit
    ==========  =============================================================  ==================
    points      corners in order: across the lamp, and towards its facing;     pairs of lengths
                the lamp's axis is the origin
    ==========  =============================================================  ==================

    All reflectors also have: name, lamp, sweep, facing, length, from, to, at, ends, law, outside. For a sweep around
    the first number is the distance from the axis, so it cannot be below zero.

    Example::

        [[reflectors]]
        name = "wings"
        profile = "facets"
        lamp = "tube"
        points = [["-5 cm", "1 cm"], ["-2 cm", "-2 cm"], ["0 cm", "-1.2 cm"], ["2 cm", "-2 cm"], ["5 cm", "1 cm"]]
        law = { kind = "lambertian", reflectance = 0.9 }

    Notes
    -----
    The inside is the side that the lamp's axis sees, whichever way the corners run.
    """

    profile: Literal["facets"]
    corners: tuple[tuple[Coordinate, Coordinate], ...] = Field(alias="points", min_length=2)

    def points(self) -> FloatArray:
        """Return the corners, the inside on the left of a walk along them, (p, 2) [m].

        Raises
        ------
        ValueError
            If they coincide or cross, show neither side to the axis, or lie left of the axis of a sweep around.
        """
        if self.sweep == "around" and min(across for across, _ in self.corners) < 0.0:
            raise ValueError("points of a sweep 'around' count across from its axis, so the first number is 0 or more")
        return profiles.faceted(self.corners)

    @property
    def _remedy(self) -> str:
        return "move its points away from the axis"


Reflector = Annotated[Flat | Trough | Parabola | Facets, Field(discriminator="profile")]
"""Any reflector, told apart by its profile."""


def _cm(length: float) -> str:
    return f"now {100.0 * length:g} cm"
