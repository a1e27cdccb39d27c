"""A thin flat sheet."""

from dataclasses import replace
from typing import Literal

import numpy as np
from pydantic import Field, model_validator

from sim.furniture.part_base import PartBase
from sim.geometry.frame import Frame, cells_of_size
from sim.materials.flat import flat_surface
from sim.materials.law import LawRef
from sim.materials.surface import Surface
from sim.units import Position


class Plate(PartBase):
    """A rectangle without thickness, at any angle: a divider, a shade, a pane.

    =========  ==============================================================  ==================
    key        meaning                                                         unit or default
    =========  ==============================================================  ==================
    corner     one corner                                                      three lengths
    edge_u     vector along one side from there                                three lengths
    edge_v     vector along the other, perpendicular to it                     three lengths
    back       law of the other side                                           the same law
    =========  ==============================================================  ==================

    All parts also have: name, law, reachable (here false by default).

    Example::

        [[parts]]
        name = "shade"
        kind = "plate"
        corner = ["10 cm", "10 cm", "40 cm"]
        edge_u = ["30 cm", "0 cm", "0 cm"]
        edge_v = ["0 cm", "20 cm", "5 cm"]
        law = "cork"

    Notes
    -----
    Both sides meet light. Irradiance is read on the front, the side of ``edge_u x edge_v``; exchange the edges to read
    the other one. A law that lets light through (screen, sheet, leaf) is one for both sides.
    """

    kind: Literal["plate"]
    corner: Position
    edge_u: Position
    edge_v: Position
    back: LawRef | None = Field(default=None, description="law of the other side; left out: the same")
    reachable: bool = Field(default=False, description="whether an animal can be on it")

    @model_validator(mode="after")
    def _edges_perpendicular(self) -> "Plate":
        u, v = np.array(self.edge_u), np.array(self.edge_v)
        lengths = float(np.linalg.norm(u)), float(np.linalg.norm(v))
        for key, length in zip(("edge_u", "edge_v"), lengths, strict=True):
            if length == 0.0:
                raise ValueError(f"'{key}' has no length; it is the vector along one side of the plate")
        cosine = float(u @ v) / (lengths[0] * lengths[1])
        if abs(cosine) > 1e-6:
            angle = np.rad2deg(np.arccos(cosine))
            raise ValueError(f"'edge_u' and 'edge_v' must be perpendicular to each other; they meet at {angle:.3g} deg")
        return self

    def surfaces(self, receiver_size: float) -> list[Surface]:
        """Return its one surface, with cells of about a size [m]."""
        u, v = np.array(self.edge_u), np.array(self.edge_v)
        cells = tuple(cells_of_size(float(np.linalg.norm(edge)), receiver_size) for edge in (u, v))
        frame = Frame(np.array(self.corner), u, v, (cells[0], cells[1]))
        return [replace(flat_surface(self.name, frame, self.law), back_law=self.back, reachable=self.reachable)]
