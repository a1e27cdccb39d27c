"""A scene as arrays, with the names that kernels do not know."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from sim.spectra.spectrum import Spectrum
from sim.tally.result import Geometry, Group
from sim.transport.arrays import BY_LINKS, BY_PATHS, Model, Receivers
from sim.transport.triangles import NOTHING, SURFACE, records

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class CompiledScene:
    """What tracing needs and what its tallies mean.

    Attributes
    ----------
    model : Model
        Arrays for the kernels.
    edges_nm : (band + 1,) float [nm]
    spectra : tuple of Spectrum
        Of each lamp, with unit power over the bands.
    band_share : (lamp, band) float
        Part of each lamp's power in each band; rows sum to 1.
    groups : tuple of Group
        Cells of surfaces first, then what is gathered: sensors, zones, reachable places, profiles.
    centre, normal : (receiver, 3) float
    area : (receiver,) float [m2]
    cells : int
        How many receivers are cells of surfaces; the rest are gathered.
    effort : (gathered,) float
        Share of the paths that each gathered receiver gets, if it gets any, relative to others.
    whole : (gathered,) bool
        Those which no photon crosses, so that paths bring all that rays to the lamp do not.
    straight : (k,) int
        Cells whose straight light is gathered; their receivers in the model follow the gathered ones.
    geometry : Geometry
    surface_names : tuple of str
        Of the rows of the absorbed power.
    """

    model: Model
    edges_nm: FloatArray
    spectra: tuple[Spectrum, ...]
    band_share: FloatArray
    groups: tuple[Group, ...]
    centre: FloatArray
    normal: FloatArray
    area: FloatArray
    cells: int
    effort: FloatArray
    whole: BoolArray
    straight: IntArray
    geometry: Geometry
    surface_names: tuple[str, ...]

    def straight_surfaces(self) -> Iterator[tuple[int, slice]]:
        """Yield each surface with cells in `straight`, by its row, and their run there."""
        for group in self.groups:
            if group.kind == "surface":
                first, last = np.searchsorted(self.straight, (group.first, group.first + group.count))
                if first < last:
                    yield self.surface_names.index(group.name), slice(int(first), int(last))

    @property
    def paths_to(self) -> FloatArray:
        """Effort of the receivers that get paths, zero for those to which photons or links bring all, (gathered,)."""
        effort = self.effort.copy()
        for first, nu, nv, way in self.model.planes.cells:
            if way != BY_PATHS:
                effort[first : first + nu * nv] = 0.0
        return effort

    @property
    def links_to(self) -> FloatArray:
        """Effort of the receivers that get links, zero for all others, (gathered,)."""
        effort = np.zeros_like(self.effort)
        for first, nu, nv, way in self.model.planes.cells:
            if way == BY_LINKS:
                effort[first : first + nu * nv] = self.effort[first : first + nu * nv]
        return effort

    def without_cells(self) -> "CompiledScene":
        """Return the scene with nothing read but what is gathered: for trials of that alone, with far fewer sums."""
        gathered = len(self.effort)
        model, surfaces = self.model, self.model.surfaces
        nowhere = np.tile(np.array([-1, 0, 0], dtype=np.int64), (len(surfaces.cells), 1))
        normal, names = records(surfaces.normal[:, :3], surfaces.names[:, SURFACE], NOTHING)
        unread = surfaces._replace(cells=nowhere, normal=normal, names=names, shared=np.zeros(0, dtype=np.int64))
        receivers = Receivers(*(np.ascontiguousarray(part[:gathered]) for part in model.receivers))
        return replace(
            self,
            model=model._replace(surfaces=unread, receivers=receivers),
            groups=tuple(
                replace(group, first=group.first - self.cells) for group in self.groups if group.kind != "surface"
            ),
            centre=self.centre[self.cells :],
            normal=self.normal[self.cells :],
            area=self.area[self.cells :],
            cells=0,
            straight=np.zeros(0, dtype=np.int64),
        )

    def with_ways(self, ways: IntArray) -> "CompiledScene":
        """Return the scene with other ways for light by matt surfaces to each plane, (k,); see `Planes`."""
        planes = self.model.planes
        cells = np.column_stack([planes.cells[:, :3], ways])
        return replace(self, model=self.model._replace(planes=planes._replace(cells=cells)))
