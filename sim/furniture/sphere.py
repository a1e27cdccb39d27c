"""A ball."""

from typing import Literal

import numpy as np

from sim.furniture.part_base import PartBase
from sim.geometry.patches import patches
from sim.geometry.solids import sphere, sphere_level
from sim.materials.surface import Surface
from sim.units import Length, Position


class Sphere(PartBase):
    """A ball, such as a round stone.

    =========  ==============================================================  ==================
    key        meaning                                                         unit or default
    =========  ==============================================================  ==================
    centre     its middle                                                      three lengths
    radius     half its width                                                  length
    =========  ==============================================================  ==================

    All parts also have: name, law, reachable (default true).

    Example::

        [[parts]]
        name = "pebble"
        kind = "sphere"
        centre = ["40 cm", "30 cm", "6 cm"]
        radius = "6 cm"
        law = "rock"

    Notes
    -----
    It is drawn with at least 1280 triangles and has exactly the ball's surface, so it casts the ball's shadow on
    average over all directions; its outline is off by less than 1 % of the radius.
    """

    kind: Literal["sphere"]
    centre: Position
    radius: Length

    def surfaces(self, receiver_size: float) -> list[Surface]:
        """Return its one surface, with patches of about a size [m]."""
        level = max(3, sphere_level(self.radius, receiver_size))
        mesh = sphere(np.array(self.centre), self.radius, level)
        return [
            Surface(
                name=self.name,
                mesh=mesh,
                law=self.law,
                patches=patches(mesh, receiver_size),
                closed=True,
                reachable=self.reachable,
            )
        ]
