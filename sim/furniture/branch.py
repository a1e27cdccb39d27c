"""A branch, a root, a perch."""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from sim.furniture.part_base import PartBase
from sim.geometry.frame import cells_of_size
from sim.geometry.mesh import FloatArray, IntArray
from sim.geometry.sweeps import stitched, tube_rings
from sim.materials.surface import Surface
from sim.units import Length, Position


class Branch(PartBase):
    """A round branch through points, of one thickness or a thickness at each point.

    =========  ==============================================================  ==================
    key        meaning                                                         unit or default
    =========  ==============================================================  ==================
    points     where its middle line runs, at least two                        list of three lengths
    radius     half its thickness, or one at each point                        length or list
    sides      flat sides around it                                            16
    =========  ==============================================================  ==================

    All parts also have: name, law, reachable (default true).

    Example::

        [[parts]]
        name = "branch"
        kind = "branch"
        points = [["20 cm", "30 cm", "0 cm"], ["60 cm", "30 cm", "30 cm"], ["90 cm", "35 cm", "35 cm"]]
        radius = ["25 mm", "20 mm", "15 mm"]
        law = "cork"

    Notes
    -----
    Its sections are prisms with the perimeter of the circle, which cast the round branch's shadow on average over all
    directions around it. Each of its receivers is a strip of its bark of about the wanted size along and around it;
    the two cut ends are one receiver each.
    """

    kind: Literal["branch"]
    points: Annotated[tuple[Position, ...], Field(min_length=2)]
    radius: Length | Annotated[tuple[Length, ...], Field(min_length=2)]
    sides: Annotated[int, Field(ge=3, le=256)] = 16

    @model_validator(mode="after")
    def _can_be_drawn(self) -> "Branch":
        if isinstance(self.radius, tuple) and len(self.radius) != len(self.points):
            raise ValueError(
                f"'radius' has {len(self.radius)} entries for {len(self.points)} points; "
                "give one, or one for each point"
            )
        self._rings()
        return self

    def _radii(self) -> FloatArray:
        return np.broadcast_to(np.array(self.radius, dtype=np.float64), len(self.points))

    def _rings(self) -> FloatArray:
        return tube_rings(np.array(self.points), self._radii(), self.sides)

    def surfaces(self, receiver_size: float) -> list[Surface]:
        """Return its bark and ends as one closed surface, with receivers of about a size [m]."""
        rings = self._rings()
        lengths = np.linalg.norm(np.diff(np.array(self.points), axis=0), axis=1)
        pieces = [cells_of_size(float(length), receiver_size) for length in lengths]
        steps = [np.arange(count)[:, None, None] / count for count in pieces]
        between = [
            (1.0 - t) * first + t * second for t, first, second in zip(steps, rings[:-1], rings[1:], strict=True)
        ]
        return [
            Surface(
                name=self.name,
                mesh=stitched(np.concatenate([*between, rings[-1:]]), caps=True),
                law=self.law,
                patches=self._receivers(sum(pieces), receiver_size),
                closed=True,
                reachable=self.reachable,
            )
        ]

    def _receivers(self, along: int, receiver_size: float) -> IntArray:
        perimeter = 2.0 * np.pi * float(np.mean(self._radii()))
        around = min(self.sides, cells_of_size(perimeter, receiver_size))
        row, side, _ = np.meshgrid(np.arange(along), np.arange(self.sides), np.arange(2), indexing="ij")
        bark = row * around + side * around // self.sides
        ends = along * around + np.repeat(np.arange(2), self.sides)
        return np.concatenate([bark.ravel(), ends])
