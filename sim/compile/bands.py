"""Wavelength bands of a scene, and its laws averaged over them."""

from collections.abc import Sequence

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.lamps.emission import Emission
from sim.materials.components import ANGLE_NODES, Components
from sim.materials.facets import FACET_NODES, facet_table
from sim.materials.law import Law, law_components
from sim.scene import library
from sim.scene.model import Scene
from sim.screens.wires import HIDDEN_NODES, WIRE_NODES, wire_tables
from sim.spectra.arrays import WavelengthFunction
from sim.spectra.grid import adaptive_edges, uniform_edges
from sim.spectra.spectrum import Spectrum
from sim.transport.arrays import ALPHA, COSINES, SHARE, Laws

TOLERANCE = 0.01
"""A band ends where any law of the scene has moved by more than this to either side of the band's middle.

Inside a band a law acts by its mean over each lamp's own spectrum. What that leaves out is the product of the law's
departure and the weighting's, which is below this times the band's share of the UV index.
"""


def lamp_spectra(scene: Scene) -> tuple[Spectrum, ...]:
    """Return each lamp's spectrum with unit power over the wavelengths of the run, and nothing outside."""
    low, high = scene.run.wavelengths
    spectra = []
    for lamp in scene.lamps:
        emission = lamp.spectrum if isinstance(lamp.spectrum, Emission) else library.emission(lamp.spectrum)
        spectra.append(emission.spectrum(library.emission, low, high, scene.law))
    return tuple(spectra)


def band_edges(scene: Scene, laws: Sequence[Law]) -> FloatArray:
    """Return the edges of the bands [nm]: wide where no law of the scene changes with wavelength."""
    low, high = scene.run.wavelengths
    if scene.run.bands != "auto":
        return uniform_edges(low, high, scene.run.bands)
    probe = np.array([low, high])
    curves = [_curve(law, slice(None, None, 64)) for law in laws]
    breaks = [at for law in laws for at in law_components(law, probe).wavelength_breaks]
    return adaptive_edges(curves, low, high, TOLERANCE, sorted({at for at in breaks if low < at < high}))


def _curve(law: Law, angles: slice) -> WavelengthFunction:
    def values(wavelength_nm: FloatArray) -> FloatArray:
        return _stacked(law_components(law, np.asarray(wavelength_nm)), angles)

    return values


def _stacked(parts: Components, angles: slice) -> FloatArray:
    """Return all that changes with wavelength as columns, (w, columns)."""
    columns = [parts.diffuse_reflectance, parts.diffuse_transmittance, parts.lobe_reflectance]
    columns += [parts.wire_reflectance, parts.wire_remainder]
    stacked = np.stack(columns, axis=-1)
    if parts.specular is not None:
        by_angle = parts.specular[:, angles].reshape(len(stacked), -1)
        stacked = np.concatenate([stacked, by_angle], axis=1)
    return stacked


def pack_laws(laws: Sequence[Law], spectra: Sequence[Spectrum], edges_nm: FloatArray) -> Laws:
    """Return laws as arrays, averaged in each band over each lamp's spectrum."""
    shape = (len(laws), len(spectra), len(edges_nm) - 1)
    probe = edges_nm[[0, -1]]
    parts = [law_components(law, probe) for law in laws]
    angular = [row for row, part in enumerate(parts) if part.specular is not None]
    packed = Laws(
        diffuse=np.zeros((*shape, 2)),
        lobe=np.zeros(shape),
        facets=np.stack([_facets(part.roughness) for part in parts]),
        specular=np.zeros((len(angular), *shape[1:], ANGLE_NODES, 2)),
        specular_row=np.full(len(laws), -1, dtype=np.int64),
        fill=np.array([part.fill or (-1.0, -1.0) for part in parts], dtype=np.float64),
        wires=np.zeros((*shape, 2)),
        clear=np.ones((len(laws), 2, WIRE_NODES, HIDDEN_NODES)),
        twice=np.zeros((len(laws), 2)),
    )
    packed.specular_row[angular] = np.arange(len(angular))
    for row, (law, part) in enumerate(zip(laws, parts, strict=True)):
        if part.fill is not None:
            tables = wire_tables(part.fill)
            packed.clear[row] = tables.clear
            packed.twice[row] = tables.caught_twice, 1.0 - tables.clear.min()
        for lamp, spectrum in enumerate(spectra):
            means = spectrum.band_mean(_curve(law, slice(None)), part.wavelength_breaks, edges_nm)
            packed.diffuse[row, lamp] = means[:, :2]
            packed.lobe[row, lamp] = means[:, 2]
            packed.wires[row, lamp] = means[:, 3:5]
            if part.specular is not None:
                table = means[:, 5:].reshape(-1, ANGLE_NODES, 2)
                packed.specular[packed.specular_row[row], lamp] = table
    return packed


def _facets(alpha: float) -> FloatArray:
    """Return a row of `Laws.facets`, zeros where there is no rough mirror."""
    row = np.zeros(COSINES + 2 * FACET_NODES)
    if alpha > 0.0:
        table = facet_table(alpha)
        row[ALPHA], row[SHARE] = alpha, table.share
        row[COSINES : COSINES + FACET_NODES], row[COSINES + FACET_NODES :] = table.cosines, table.densities
    return row
