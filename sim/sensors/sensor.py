"""Free-standing receivers, which never block light: points, planes and grids."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from sim.geometry.mesh import FloatArray
from sim.spec import Name, Spec
from sim.units import Direction, Position

Cells = Annotated[int, Field(ge=1)]
MOST_CELLS = 1_000_000


@dataclass(frozen=True)
class SensorGeometry:
    """The patches of a sensor, each a parallelogram or, with edges of zero length, a point.

    Attributes
    ----------
    origin, edge_u, edge_v : (n, 3) float [m]
        Corner and edges of each patch; cell (i, j) of a grid has row ``i + cells[0] * j``.
    normal : (n, 3) float
        Unit normal of the measured side.
    """

    origin: FloatArray
    edge_u: FloatArray
    edge_v: FloatArray
    normal: FloatArray


class Point(Spec):
    """A small flat receiver at one point, such as a meter's head.

    ========  =============================================================  =================
    key       meaning                                                        unit
    ========  =============================================================  =================
    name      how results call it                                            text
    at        where it is                                                    three lengths
    normal    direction that it looks, or                                    three numbers
    towards   the lamp to whose centre it looks                              a lamp's name
    ========  =============================================================  =================

    Example::

        [[sensors]]
        name = "meter"
        kind = "point"
        at = ["60 cm", "30 cm", "30 cm"]
        normal = [0, 0, 1]

    Notes
    -----
    It weighs light by the cosine of the angle to its normal, as a meter with a good diffuser does; many real meters
    fall short of that at grazing angles.
    """

    kind: Literal["point"]
    name: Name
    at: Position
    normal: Direction | None = None
    towards: Name | None = None

    @model_validator(mode="after")
    def _one_aim(self) -> "Point":
        if (self.normal is None) == (self.towards is None):
            raise ValueError("a point needs either normal = [0, 0, 1] or towards = 'name of a lamp', one of the two")
        return self

    def receivers(self, lamp_centres: Mapping[str, FloatArray]) -> SensorGeometry:
        """Return its one patch, of zero size.

        Parameters
        ----------
        lamp_centres : mapping of str to (3,) float [m]
            Centre of each lamp by its name.

        Raises
        ------
        ValueError
            If `towards` names no lamp, or the point lies at that lamp's centre.
        """
        at = np.array([self.at])
        zero = np.zeros((1, 3))
        return SensorGeometry(at, zero, zero, self._aim(at[0], lamp_centres)[None, :])

    def _aim(self, at: FloatArray, lamp_centres: Mapping[str, FloatArray]) -> FloatArray:
        if self.towards is None:
            return np.array(self.normal, dtype=np.float64)
        if self.towards not in lamp_centres:
            names = ", ".join(f"'{name}'" for name in lamp_centres) or "none"
            raise ValueError(f"no lamp is named '{self.towards}'; the lamps are: {names}")
        line = lamp_centres[self.towards] - at
        distance = float(np.linalg.norm(line))
        if distance < 1e-9:
            raise ValueError(f"the point lies at the centre of lamp '{self.towards}', so it cannot look towards it")
        return line / distance


class _Rectangle(Spec):
    """A rectangle by a corner and two edges."""

    name: Name
    corner: Position
    edge_u: Position
    edge_v: Position

    @model_validator(mode="after")
    def _edges_perpendicular(self) -> "_Rectangle":
        u, v = np.array(self.edge_u), np.array(self.edge_v)
        lengths = float(np.linalg.norm(u)), float(np.linalg.norm(v))
        if min(lengths) == 0.0:
            key = "edge_u" if lengths[0] == 0.0 else "edge_v"
            raise ValueError(f"'{key}' has no length; it is the vector along one side of the rectangle")
        if abs(float(u @ v)) > 1e-6 * lengths[0] * lengths[1]:
            raise ValueError("'edge_u' and 'edge_v' must be perpendicular to each other")
        return self

    def _patches(self, cells: tuple[int, int]) -> SensorGeometry:
        u, v = np.array(self.edge_u) / cells[0], np.array(self.edge_v) / cells[1]
        i, j = np.meshgrid(np.arange(cells[0]), np.arange(cells[1]), indexing="xy")
        origin = np.array(self.corner) + i.reshape(-1, 1) * u + j.reshape(-1, 1) * v
        normal = np.cross(u, v)
        normal /= np.linalg.norm(normal)
        edge_u, edge_v, normals = (np.tile(row, (len(origin), 1)) for row in (u, v, normal))
        return SensorGeometry(origin, edge_u, edge_v, normals)


class Plane(_Rectangle):
    """A rectangle whose mean is measured, on the side of ``edge_u x edge_v``.

    ========  =============================================================  =================
    key       meaning                                                        unit
    ========  =============================================================  =================
    name      how results call it                                            text
    corner    one corner                                                     three lengths
    edge_u    vector along one side from there                               three lengths
    edge_v    vector along the other, perpendicular to it                    three lengths
    ========  =============================================================  =================

    Example::

        [[sensors]]
        name = "back height"
        kind = "plane"
        corner = ["20 cm", "10 cm", "5 cm"]
        edge_u = ["40 cm", "0 cm", "0 cm"]
        edge_v = ["0 cm", "40 cm", "0 cm"]
    """

    kind: Literal["plane"]

    def receivers(self, lamp_centres: Mapping[str, FloatArray]) -> SensorGeometry:
        """Return its one patch; it needs no lamp's centre."""
        return self._patches((1, 1))


class Grid(_Rectangle):
    """A rectangle cut into cells, each measured on the side of ``edge_u x edge_v``, and their mean.

    ========  =============================================================  =================
    key       meaning                                                        unit
    ========  =============================================================  =================
    name      how results call it                                            text
    corner    one corner                                                     three lengths
    edge_u    vector along one side from there                               three lengths
    edge_v    vector along the other, perpendicular to it                    three lengths
    cells     number of cells along `edge_u` and along `edge_v`              two whole numbers
    ========  =============================================================  =================

    Example::

        [[sensors]]
        name = "layer"
        kind = "grid"
        corner = ["0 cm", "0 cm", "20 cm"]
        edge_u = ["120 cm", "0 cm", "0 cm"]
        edge_v = ["0 cm", "60 cm", "0 cm"]
        cells = [12, 6]
    """

    kind: Literal["grid"]
    cells: tuple[Cells, Cells]

    @model_validator(mode="after")
    def _not_too_many(self) -> "Grid":
        count = self.cells[0] * self.cells[1]
        if count > MOST_CELLS:
            raise ValueError(f"{count} cells are more than {MOST_CELLS}; ask for fewer")
        return self

    def receivers(self, lamp_centres: Mapping[str, FloatArray]) -> SensorGeometry:
        """Return one patch a cell; it needs no lamp's centre."""
        return self._patches(self.cells)


Sensor = Annotated[Point | Plane | Grid, Field(discriminator="kind")]
"""Any sensor, told apart by its kind."""
