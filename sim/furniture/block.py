"""What box and ledge share: an upright block of six faces."""

from dataclasses import replace

import numpy as np

from sim.furniture.part_base import PartBase
from sim.geometry.rectangles import FACES, box_frames
from sim.materials.flat import flat_surface
from sim.materials.surface import Surface
from sim.units import Length, Position


class Block(PartBase):
    """A solid block with edges along x, y and z."""

    corner: Position
    size: tuple[Length, Length, Length]

    @property
    def surface_names(self) -> tuple[str, ...]:
        """Names of its six faces, in the order of `surfaces`."""
        return tuple(f"{self.name}.{face}" for face in FACES)

    def surfaces(self, receiver_size: float) -> list[Surface]:
        """Return its six faces, read from outside; an animal that can be on it is on its top."""
        frames = box_frames(np.array(self.corner), np.array(self.size), receiver_size)
        return [
            replace(
                flat_surface(f"{self.name}.{face}", frame, self.law),
                closed=True,
                reachable=self.reachable and face == "top",
            )
            for face, frame in frames.items()
        ]
