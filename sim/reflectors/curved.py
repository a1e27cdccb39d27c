"""Reflectors with a curved profile, which is built of fine flat facets."""

from typing import Literal

from pydantic import Field

from sim.geometry.mesh import FloatArray
from sim.reflectors import curve as curves
from sim.reflectors.base import ReflectorBase, in_cm, refuse_left
from sim.reflectors.profile import faceted, right_half
from sim.units import Coordinate, Length


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
    The curve z = x^2 / (4 focus) is built of flat facets, each turned by a quarter of a degree at most against the
    next (a degree in a dish).
    """

    profile: Literal["parabola"]
    focus: Length
    width: Length

    def points(self) -> FloatArray:
        """Return corners on the curve, from edge to edge or from the vertex to the right edge, (p, 2) [m]."""
        points = curves.parabola(self.focus, self.width, self._turn)
        return right_half(points) if self.sweep == "around" else points

    @property
    def _remedy(self) -> str:
        return f"raise 'focus' ({in_cm(self.focus)}) beyond the lamp's radius"


class Involute(ReflectorBase):
    """The involute of a circle about the lamp, off which no light comes straight back to the lamp.

    ==========  =============================================================  ==============
    key         meaning                                                        unit
    ==========  =============================================================  ==============
    radius      of the circle, a little more than the lamp's                   length
    width       of the opening, at most 2 pi times the radius                  length
    ==========  =============================================================  ==============

    All reflectors also have: name, lamp, sweep, facing, length, from, to, at, ends, law, outside.

    Example::

        [[reflectors]]
        name = "involute"
        profile = "involute"
        lamp = "tube"
        radius = "9 mm"
        width = "5 cm"
        law = { kind = "mirror", reflectance = 0.9 }

    Notes
    -----
    Its two branches meet in a ridge right behind the lamp, at the circle. Every normal of it is tangent to the circle,
    so light from within the circle goes out past it after one reflection. It is built of flat facets as a parabola is.
    """

    profile: Literal["involute"]
    radius: Length
    width: Length

    def points(self) -> FloatArray:
        """Return corners on the curve, from lip to lip or from the ridge to the right lip, (p, 2) [m]."""
        points = curves.involute(self.radius, self.width, self._turn)
        return right_half(points) if self.sweep == "around" else points

    @property
    def _remedy(self) -> str:
        return f"raise 'radius' ({in_cm(self.radius)}) beyond the lamp's"


class Curve(ReflectorBase):
    """A smooth curve through points.

    ==========  =============================================================  ==================
    key         meaning                                                        unit
    ==========  =============================================================  ==================
    points      places on it in order: across the lamp, and towards its        pairs of lengths
                facing; the lamp's axis is the origin
    ==========  =============================================================  ==================

    All reflectors also have: name, lamp, sweep, facing, length, from, to, at, ends, law, outside. For a sweep around
    the first number is the distance from the axis, so it cannot be below zero.

    Example::

        [[reflectors]]
        name = "measured"
        profile = "curve"
        lamp = "tube"
        points = [["-5 cm", "1 cm"], ["-3 cm", "-12 mm"], ["0 cm", "-2 cm"], ["3 cm", "-12 mm"], ["5 cm", "1 cm"]]
        law = { kind = "mirror", reflectance = 0.85 }

    Notes
    -----
    The curve bends smoothly at every point; for a corner take `facets`. The inside is the side that the lamp's axis
    sees. It is built of flat facets as a parabola is.
    """

    profile: Literal["curve"]
    corners: tuple[tuple[Coordinate, Coordinate], ...] = Field(alias="points", min_length=2)

    def points(self) -> FloatArray:
        """Return corners on the curve, the inside on the left of a walk along them, (p, 2) [m].

        Raises
        ------
        ValueError
            If points coincide, or the curve crosses itself, shows neither side to the axis, or lies left of the axis
            of a sweep around.
        """
        refuse_left(self.sweep, self.corners)
        return faceted(curves.through(self.corners, self._turn))

    @property
    def _remedy(self) -> str:
        return "move its points away from the axis"
