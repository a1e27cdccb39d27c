"""A shelter with an entrance."""

from dataclasses import replace
from typing import Literal

import numpy as np
from pydantic import Field, model_validator

from sim.furniture.part_base import PartBase
from sim.geometry.frame import Frame, Hole
from sim.geometry.mesh import FloatArray, Mesh, joined
from sim.geometry.rectangles import box_frames, quadrilateral
from sim.materials.flat import flat_surface
from sim.materials.surface import Surface
from sim.spec import Spec
from sim.units import Coordinate, Length, Position

SHELL = ("top", "front", "back", "left", "right")
Side = Literal["front", "back", "left", "right"]


class Entrance(Spec):
    """The way into a hide, from the ground up.

    =========  ==============================================================  ==================
    key        meaning                                                         unit or default
    =========  ==============================================================  ==================
    side       front | back | left | right
    width      clear width                                                     length
    height     clear height                                                    length
    shift      of its middle from the middle of that side, along x or y        0 cm
    =========  ==============================================================  ==================

    Example::

        opening = { side = "front", width = "10 cm", height = "6 cm", shift = "-5 cm" }
    """

    side: Side
    width: Length
    height: Length
    shift: Coordinate = 0.0


class Hide(PartBase):
    """A shelter: four walls and a roof of real thickness, open below, with an entrance on one side.

    =========  ==============================================================  ==================
    key        meaning                                                         unit or default
    =========  ==============================================================  ==================
    corner     its lowest corner on the outside: smallest x, y and z           three lengths
    size       its outer lengths along x, y and z                              three lengths
    thickness  of walls and roof                                               length
    opening    the entrance: side, width, height, shift                        table
    =========  ==============================================================  ==================

    All parts also have: name, law, reachable (default true: an animal can be on its roof).

    Example::

        [[parts]]
        name = "hide"
        kind = "hide"
        corner = ["5 cm", "30 cm", "0 cm"]
        size = ["30 cm", "22 cm", "12 cm"]
        thickness = "1 cm"
        opening = { side = "front", width = "10 cm", height = "6 cm" }
        law = "cork"

    Notes
    -----
    Its surfaces are ``hide.top``, ``.front``, ``.back``, ``.left``, ``.right`` on the outside, ``hide.inside top`` and
    so on within, ``hide.entrance`` (the cut faces of the way in) and ``hide.rim`` (its foot, which is not read). It has
    no floor: an animal in it lies on the floor of the enclosure, or on what the hide stands on, so judge a refuge by a
    zone on that floor.
    """

    kind: Literal["hide"]
    corner: Position
    size: tuple[Length, Length, Length]
    thickness: Length
    opening: Entrance = Field(description="the entrance")

    @model_validator(mode="after")
    def _fits(self) -> "Hide":
        x, y, z = self.size
        if 2.0 * self.thickness >= min(x, y) or self.thickness >= z:
            raise ValueError(f"walls {1e3 * self.thickness:g} mm thick leave no room inside; make them thinner")
        along = x if self.opening.side in ("front", "back") else y
        inner = along - 2.0 * self.thickness
        if self.opening.width + 2.0 * abs(self.opening.shift) >= inner:
            raise ValueError(
                f"the opening must lie between the side walls, which are {100 * inner:g} cm apart; "
                "make it narrower or shift it less"
            )
        if self.opening.height >= z - self.thickness:
            raise ValueError(f"the opening must end below the roof, {100 * (z - self.thickness):g} cm above the ground")
        return self

    @property
    def surface_names(self) -> tuple[str, ...]:
        """Names of its surfaces, in the order of `surfaces`."""
        inside = tuple(f"{self.name}.inside {face}" for face in SHELL)
        return (*(f"{self.name}.{face}" for face in SHELL), *inside, f"{self.name}.entrance", f"{self.name}.rim")

    def surfaces(self, receiver_size: float) -> list[Surface]:
        """Return its shell, outside and inside, with cells of about a size [m]."""
        outer, inner = self._frames(receiver_size)
        flat = [flat_surface(f"{self.name}.{face}", outer[face], self.law) for face in SHELL]
        flat[0] = replace(flat[0], reachable=self.reachable)
        flat += [flat_surface(f"{self.name}.inside {face}", inner[face], self.law) for face in SHELL]
        entrance, rim = self._entrance(outer, inner), self._rim(outer, inner)
        return [
            *(replace(surface, closed=True) for surface in flat),
            Surface(f"{self.name}.entrance", entrance, self.law, patches=np.repeat(np.arange(3), 2), closed=True),
            Surface(
                f"{self.name}.rim",
                rim,
                self.law,
                patches=np.zeros(len(rim.faces), dtype=np.int64),
                measured=False,
                closed=True,
            ),
        ]

    def _frames(self, receiver_size: float) -> tuple[dict[str, Frame], dict[str, Frame]]:
        corner, size, t = np.array(self.corner), np.array(self.size), self.thickness
        wall, both = np.array([t, t, 0.0]), np.array([2.0 * t, 2.0 * t, t])
        outer = box_frames(corner, size, receiver_size)
        inner = box_frames(corner + wall, size - both, receiver_size, inward=True)
        side, half = self.opening.side, 0.5 * self.opening.width
        middle = 0.5 * outer[side].size[0] + self.opening.shift
        outer[side] = _with_hole(outer[side], (middle - half, 0.0, middle + half, self.opening.height))
        inner[side] = _with_hole(inner[side], (middle - half - t, 0.0, middle + half - t, self.opening.height))
        return outer, inner

    def _entrance(self, outer: dict[str, Frame], inner: dict[str, Frame]) -> Mesh:
        """Return the cut faces of the way in: one cheek, the lintel, the other cheek."""
        there, here = (_door_posts(frames[self.opening.side]) for frames in (outer, inner))
        middle = 0.25 * (there[0] + there[3] + here[0] + here[3]) + [0.0, 0.0, 0.5 * self.opening.height]
        return joined(
            [
                quadrilateral(*corners, facing=middle - np.mean(corners, axis=0))
                for corners in ((there[k], there[k + 1], here[k + 1], here[k]) for k in range(3))
            ]
        )

    def _rim(self, outer: dict[str, Frame], inner: dict[str, Frame]) -> Mesh:
        """Return the foot of the walls, mitred at the corners and without the entrance."""
        down = np.array([0.0, 0.0, -1.0])
        pieces = []
        for side in SHELL[1:]:
            there, here = _feet(outer[side]), _feet(inner[side])
            for k in range(0, len(there), 2):
                pieces.append(quadrilateral(there[k], there[k + 1], here[k + 1], here[k], facing=down))
        return joined(pieces)


def _with_hole(frame: Frame, hole: Hole) -> Frame:
    return Frame(frame.origin, frame.edge_u, frame.edge_v, frame.shape, (hole,), frame.flipped)


def _feet(frame: Frame) -> list[FloatArray]:
    """Return where the pieces of a wall begin and end along the ground."""
    stops = [0.0, *(u for hole in frame.holes for u in (hole[0], hole[2])), frame.size[0]]
    return [frame.point(u, 0.0) for u in stops]


def _door_posts(frame: Frame) -> list[FloatArray]:
    """Return the corners of a frame's hole: foot, head, head, foot."""
    ((u0, v0, u1, v1),) = frame.holes
    return [frame.point(u0, v0), frame.point(u0, v1), frame.point(u1, v1), frame.point(u1, v0)]
