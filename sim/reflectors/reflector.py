"""Every profile of reflector; a new one is one class and its place in `Reflector`."""

from typing import Annotated, Literal

from pydantic import Field

from sim.geometry.mesh import FloatArray
from sim.reflectors import profile as profiles
from sim.reflectors.base import ReflectorBase, in_cm, refuse_left
from sim.reflectors.curved import Curve, Involute, Parabola
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
        return f"raise 'above' ({in_cm(self.above)}) beyond the lamp's radius"


class Vee(ReflectorBase):
    """Two straight sides that meet behind the lamp, as a V; turned around, a cone.

    ==========  =============================================================  ==============
    key         meaning                                                        unit
    ==========  =============================================================  ==============
    width       of the opening, between the lips                               length
    depth       from the lips to the vertex                                    length
    above       distance of the vertex behind the lamp's axis                  length
    ==========  =============================================================  ==============

    All reflectors also have: name, lamp, sweep, facing, length, from, to, at, ends, law, outside.

    Example::

        [[reflectors]]
        name = "roof"
        profile = "vee"
        lamp = "tube"
        width = "9 cm"
        depth = "4 cm"
        above = "2 cm"
        law = { kind = "mirror", reflectance = 0.9 }
    """

    profile: Literal["vee"]
    width: Length
    depth: Length
    above: Length

    def points(self) -> FloatArray:
        """Return its corners, (3, 2), or its vertex and right lip, (2, 2) [m]."""
        points = profiles.vee(self.width, self.depth, self.above)
        return points[1:] if self.sweep == "around" else points

    @property
    def _remedy(self) -> str:
        return f"raise 'above' ({in_cm(self.above)}), or make it wider"


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
        return f"raise 'above' ({in_cm(self.above)}) beyond the lamp's radius, or make the trough wider"


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
        refuse_left(self.sweep, self.corners)
        return profiles.faceted(self.corners)

    @property
    def _remedy(self) -> str:
        return "move its points away from the axis"


Reflector = Annotated[Flat | Vee | Trough | Parabola | Involute | Facets | Curve, Field(discriminator="profile")]
"""Any reflector, told apart by its profile."""
