"""A plant as a cloud of leaves."""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from sim.furniture.part_base import PartBase
from sim.geometry.mesh import FloatArray, IntArray, Mesh
from sim.materials.law import LawRef
from sim.materials.surface import Surface
from sim.units import Length, Position

Count = Annotated[int, Field(ge=1, le=1_000_000)]


class Plant(PartBase):
    """Flat diamond-shaped leaves at random within a box: foliage that shades and is seen through in part.

    ==========  =============================================================  ==================
    key         meaning                                                        unit or default
    ==========  =============================================================  ==================
    corner      lowest corner of the box that holds the leaves                 three lengths
    size        its lengths along x, y and z                                   three lengths
    leaves      number of leaves                                               whole number
    leaf_size   length of a leaf                                               length
    leaf_width  its width at the middle                                        half its length
    seed        another seed is another plant of the same kind                 1
    receivers   layers, from the lowest leaves up, of as many leaves each      1
    ==========  =============================================================  ==================

    All parts also have: name, law (here "leaf" by default), reachable (default true).

    Example::

        [[parts]]
        name = "fern"
        kind = "plant"
        corner = ["80 cm", "35 cm", "5 cm"]
        size = ["30 cm", "20 cm", "30 cm"]
        leaves = 200
        leaf_size = "6 cm"

    Notes
    -----
    Leaf normals point evenly in all directions, the spherical leaf angle distribution (J. Ross, The radiation regime
    and architecture of plant stands, 1981), under which light from any direction meets the same leaf area: half of it.
    Leaves may cut through each other. Irradiance is read on their upper sides and averaged over each layer: one
    number for many leaves, which says little about any one of them.
    """

    kind: Literal["plant"]
    corner: Position
    size: tuple[Length, Length, Length]
    leaves: Count
    leaf_size: Length
    leaf_width: Length | None = Field(default=None, description="width of a leaf; left out: half its length")
    seed: Annotated[int, Field(ge=0)] = 1
    receivers: Count = 1
    law: LawRef = Field(default="leaf", description="what a leaf does with light")

    @model_validator(mode="after")
    def _leaves_fit(self) -> "Plant":
        longest = max(self.leaf_size, self._width)
        if min(self.size) < longest:
            raise ValueError(
                f"leaves of {100 * longest:g} cm do not fit a box that is only {100 * min(self.size):g} cm "
                "in one direction; make the box larger or the leaves smaller"
            )
        if self.receivers > self.leaves:
            raise ValueError(f"'receivers' is {self.receivers}, but there are only {self.leaves} leaves to share out")
        return self

    @property
    def _width(self) -> float:
        return 0.5 * self.leaf_size if self.leaf_width is None else self.leaf_width

    @property
    def leaf_area(self) -> float:
        """Area of all leaves, one side of each [m2]."""
        return 0.5 * self.leaves * self.leaf_size * self._width

    def surfaces(self, receiver_size: float) -> list[Surface]:
        """Return all leaves as one open surface; their receivers are layers, whatever the size asked for."""
        mesh, height = self._foliage()
        return [
            Surface(
                name=self.name,
                mesh=mesh,
                law=self.law,
                patches=np.repeat(self._layers(height), 2),
                reachable=self.reachable,
            )
        ]

    def _foliage(self) -> tuple[Mesh, FloatArray]:
        """Return the leaves, two triangles each with the front up, and the height of each leaf's middle [m]."""
        generator = np.random.Generator(np.random.Philox(self.seed))
        normal = _unit(generator.normal(size=(self.leaves, 3)))
        normal *= np.where(normal[:, 2:] < 0.0, -1.0, 1.0)
        sideways = _unit(np.cross(normal, generator.normal(size=(self.leaves, 3))))
        half_width = 0.5 * self._width * sideways
        half_length = 0.5 * self.leaf_size * np.cross(sideways, normal)
        reach = np.maximum(np.abs(half_length), np.abs(half_width))
        place = generator.uniform(size=(self.leaves, 3))
        centre = np.array(self.corner) + reach + place * (np.array(self.size) - 2.0 * reach)
        tips = np.stack([-half_length, half_width, half_length, -half_width], axis=1)
        first = 4 * np.arange(self.leaves)[:, None, None]
        faces = first + np.array([[0, 2, 1], [0, 3, 2]])
        return Mesh((centre[:, None] + tips).reshape(-1, 3), faces.reshape(-1, 3)), centre[:, 2]

    def _layers(self, height: FloatArray) -> IntArray:
        rank = np.argsort(np.argsort(height, kind="stable"), kind="stable")
        layers: IntArray = rank * self.receivers // self.leaves
        return layers


def _unit(vectors: FloatArray) -> FloatArray:
    units: FloatArray = vectors / np.linalg.norm(vectors, axis=1, keepdims=True)
    return units
