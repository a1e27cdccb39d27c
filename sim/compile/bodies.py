"""What lights, blocks and scatters in a scene, as arrays: all that does not depend on where light is read."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.compile.bands import band_edges, lamp_spectra, pack_laws
from sim.compile.chains import with_chains
from sim.compile.emitters import join_faces, pack_emitters
from sim.compile.openings import with_openings
from sim.compile.surfaces import Catalogue, collect, pack_surfaces
from sim.geometry.mesh import FloatArray
from sim.scene.check import Survey
from sim.scene.light_paths import lets_through
from sim.spectra.spectrum import Spectrum
from sim.transport.arrays import Emitters, Laws, Mirrors, Surfaces, Tree
from sim.transport.tree_build import build_tree
from sim.transport.tree_traverse import closest_hits
from sim.transport.triangles import SURFACE

BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Bodies:
    """The bodies and lamps of a scene.

    Attributes
    ----------
    seen : Survey
        That they are of.
    catalogue : Catalogue
        All surfaces in the order of their rows.
    corners : (n, 3, 3) float [m]
        Of all triangles.
    edges_nm : (band + 1,) float [nm]
    spectra : tuple of Spectrum
        Of each lamp, with unit power over the bands.
    share : (lamp, band) float
        Power of these in each band.
    tree, surfaces, laws, emitters, mirrors : as in `sim.transport.arrays.Model`
        The surfaces have their cells, and none of them shares its light with rays.
    """

    seen: Survey
    catalogue: Catalogue
    corners: FloatArray
    edges_nm: FloatArray
    spectra: tuple[Spectrum, ...]
    share: FloatArray
    tree: Tree
    surfaces: Surfaces
    laws: Laws
    emitters: Emitters
    mirrors: Mirrors


def compile_bodies(seen: Survey) -> Bodies:
    """Return the bodies and lamps of a scene as arrays.

    Parameters
    ----------
    seen : Survey
        Of a scene whose check found no error.
    """
    scene = seen.scene
    catalogue = collect(seen)
    spectra = lamp_spectra(scene)
    edges = band_edges(scene, catalogue.laws)
    share = np.array([spectrum.band_power(edges) for spectrum in spectra])
    laws = pack_laws(catalogue.laws, spectra, edges)
    surfaces, mirrors, corners = pack_surfaces(catalogue, laws)
    emitters = pack_emitters([seen.lamps[lamp.name] for lamp in scene.lamps], (share > 0.0).astype(np.float64))
    emitters = with_openings(emitters, seen, mirrors)
    join_faces(emitters, surfaces)
    mirrors = with_chains(mirrors, catalogue, laws, emitters)
    tree = build_tree(corners)
    return Bodies(seen, catalogue, corners, edges, spectra, share, tree, surfaces, laws, emitters, mirrors)


class Places:
    """Answers about points of a scene by casting rays through its tree."""

    def __init__(self, bodies: Bodies) -> None:
        entries = bodies.catalogue.entries
        self._room = bodies.seen.room
        self._tree, self._normals = bodies.tree, bodies.surfaces.normal[:, :3]
        self._owner = bodies.surfaces.names[:, SURFACE]
        self._closed = np.array([entry.surface.closed for entry in entries])
        self._open = np.array([any(lets_through(law) for law in entry.laws) for entry in entries])

    def free(self, points: FloatArray) -> BoolArray:
        """Return which points lie in the enclosure and in no closed body."""
        # A slanted ray meets no edge of things that stand upright; leaving through a back means having been inside.
        ray = np.array([0.0137, 0.0071, 1.0])
        directions = np.tile(ray / np.linalg.norm(ray), (len(points), 1))
        distance, triangle = np.full(len(points), np.inf), np.full(len(points), -1)
        closest_hits(self._tree, np.ascontiguousarray(points), directions, distance, triangle)
        hit = triangle >= 0
        leaving = np.einsum("ij,ij->i", directions, self._normals[triangle]) > 0.0
        inside = hit & leaving & self._closed[self._owner[triangle]]
        free: BoolArray = ~inside
        return free if self._room is None else free & self._room.holds(points)

    def to_opaque(self, start: FloatArray, direction: FloatArray) -> float:
        """Return the distance to the first surface that lets no light through, or infinity."""
        travelled = 0.0
        while True:
            distance, triangle = np.full(1, np.inf), np.full(1, -1)
            closest_hits(self._tree, (start + travelled * direction)[None, :], direction[None, :], distance, triangle)
            travelled += float(distance[0])
            if triangle[0] < 0 or not self._open[self._owner[triangle[0]]]:
                return travelled
