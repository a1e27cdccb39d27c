"""A flat lamp."""

from typing import Literal

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.geometry.rectangles import rectangle
from sim.lamps.lamp import LampBase, LampShape
from sim.units import Position


class Panel(LampBase):
    """A rectangle that glows evenly on one side, that of ``edge_u x edge_v``; it has no thickness.

    ==========  =======================================================  ==================
    key         meaning                                                  unit
    ==========  =======================================================  ==================
    corner      one corner                                               three lengths
    edge_u      vector along one side from there                         three lengths
    edge_v      vector along the other, perpendicular to it              three lengths
    ==========  =======================================================  ==================

    All lamps also have: name, spectrum, output, level, body, maintained, age, warm_up. A panel has no `facing`: its
    edges tell.

    Example::

        [[lamps]]
        name = "panel"
        kind = "panel"
        corner = ["30 cm", "40 cm", "60 cm"]
        edge_u = ["60 cm", "0 cm", "0 cm"]
        edge_v = ["0 cm", "-20 cm", "0 cm"]
        spectrum = { bands = [{ peak = "368 nm", fwhm = "20 nm" }] }
        output = { radiant = "2 W" }

    Notes
    -----
    Readings are taken from its centre along the side that it shines to. Its axis, for reflectors swept along it,
    runs through the centre parallel to `edge_u`. An array of small sources is an even panel only from a distance
    of several times their spacing.
    """

    kind: Literal["panel"]
    corner: Position
    edge_u: Position
    edge_v: Position

    @property
    def _edges(self) -> tuple[FloatArray, FloatArray]:
        return np.array(self.edge_u), np.array(self.edge_v)

    def _check_shape(self) -> None:
        if "facing" in self.model_fields_set:
            raise ValueError("a panel shines to edge_u x edge_v; leave 'facing' out, or exchange the edges")
        u, v = self._edges
        lengths = float(np.linalg.norm(u)), float(np.linalg.norm(v))
        for key, length in zip(("edge_u", "edge_v"), lengths, strict=True):
            if length == 0.0:
                raise ValueError(f"'{key}' has no length; it is the vector along one side of the panel")
        if abs(float(u @ v)) > 1e-6 * lengths[0] * lengths[1]:
            raise ValueError("'edge_u' and 'edge_v' must be perpendicular to each other")

    @property
    def reach(self) -> float:
        """Zero: a panel has no thickness [m]."""
        return 0.0

    def shape(self) -> LampShape:
        """Return the rectangle, all of it lit."""
        corner = np.array(self.corner)
        u, v = self._edges
        body = rectangle(corner, u, v)
        start = corner + 0.5 * v
        return LampShape(
            body=body,
            emits=np.ones(len(body.faces), dtype=np.bool_),
            start=start,
            end=start + u,
            centre=start + 0.5 * u,
            facing=np.cross(u, v) / (np.linalg.norm(u) * np.linalg.norm(v)),
            radius=0.5 * float(np.linalg.norm(v)),
            open_body=True,
        )
