"""Every law that there is, on one triangle each, as kernels see it."""

from dataclasses import dataclass
from typing import get_args

import numpy as np
from pydantic import TypeAdapter

from sim.compile.bands import pack_laws
from sim.materials.law import Law
from sim.scene import library
from sim.spec import Spec
from sim.spectra.spectrum import Spectrum
from sim.transport.arrays import F64, Laws, Surfaces
from sim.transport.triangles import NOTHING, records
from tests.support.manual import examples

LAW: TypeAdapter[Law] = TypeAdapter(Law)
KINDS: tuple[type[Spec], ...] = get_args(get_args(Law)[0])
"""Every class of the union; a new law joins the tests by being listed there, with the examples of its manual page."""

NORMAL = np.array([0.36, 0.48, 0.8])
TANGENT = np.array([0.8, -0.6, 0.0])
"""Of the triangle: along no axis, so that a mistaken frame shows."""

EDGES_NM = np.array([280.0, 300.0, 320.0, 340.0, 400.0])

# Invented corners of the parameters, for tests alone.
CORNERS = {
    "white": {"kind": "lambertian", "reflectance": 1.0},
    "perfect mirror": {"kind": "mirror", "reflectance": 1.0},
    "white leaf": {"kind": "leaf", "reflectance": 0.5, "transmittance": 0.5},
    "leaf by wavelength": {
        "kind": "leaf",
        "reflectance": {"wavelength": ["280 nm", "400 nm"], "value": [0.7, 0.1]},
        "transmittance": {"wavelength": ["280 nm", "400 nm"], "value": [0.1, 0.8]},
    },
    "satin": {"kind": "glossy", "reflectance": 0.8, "specular_share": 1.0, "roughness": 0.1},
    "rough": {"kind": "glossy", "reflectance": 1.0, "specular_share": 0.7, "roughness": 0.5},
    "roughest": {"kind": "glossy", "reflectance": 1.0, "specular_share": 1.0, "roughness": 1.0},
    "rough by wavelength": {
        "kind": "glossy",
        "reflectance": {"wavelength": ["280 nm", "400 nm"], "value": [0.95, 0.2]},
        "specular_share": 0.8,
        "roughness": 0.4,
    },
    "smooth": {"kind": "glossy", "reflectance": 0.9, "specular_share": 0.5, "roughness": 0.0},
    "clear pane": {"kind": "sheet", "n": 1.5, "k": 0.0, "thickness": "4 mm"},
    "no pane": {"kind": "sheet", "n": 1.0, "k": 0.0, "thickness": "4 mm"},
    "black cloth": {"kind": "screen", "wire": ["0.2 mm", "0.5 mm"], "pitch": ["1.0 mm", "1.3 mm"]},
    "white cloth": {"kind": "screen", "wire": "0.25 mm", "pitch": "1 mm", "reflectance": 1.0},
    "uneven cloth": {"kind": "screen", "wire": ["0.2 mm", "0.5 mm"], "pitch": ["1 mm", "1.3 mm"], "reflectance": 0.7},
    "cloth by wavelength": {
        "kind": "screen",
        "wire": "0.4 mm",
        "mesh": [20, 30],
        "reflectance": {"wavelength": ["280 nm", "400 nm"], "value": [0.9, 0.1]},
    },
}


def _from_manual() -> dict[str, Law]:
    found = {}
    for page in KINDS:
        for number, example in enumerate(examples(page)):
            (law,) = example["laws"].values()
            found[f"{page.__name__} {number}"] = LAW.validate_python(law)
    return found


LAWS: dict[str, Law] = {
    **_from_manual(),
    **{name: LAW.validate_python(data) for name, data in CORNERS.items()},
    **{name: library.material(name) for name in library.law_names()},
}
"""By name: of the manual pages, of the corners above, and all of the library."""


@dataclass(frozen=True)
class Bench:
    """Laws on triangles: triangle, surface and law of one row belong together; one lamp with a flat spectrum."""

    laws: Laws
    surfaces: Surfaces
    names: tuple[str, ...]

    def row(self, name: str) -> int:
        return self.names.index(name)


def bench(laws: dict[str, Law], edges_nm: F64 = EDGES_NM) -> Bench:
    """Return laws as kernels take them."""
    count = len(laws)
    flat = Spectrum.from_samples([edges_nm[0], edges_nm[-1]], [1.0, 1.0])
    row = np.arange(count)
    normal, names = records(np.tile(NORMAL, (count, 1)), row, np.full(count, NOTHING))
    surfaces = Surfaces(
        normal=normal,
        names=names,
        emitter=np.zeros((0, 2), dtype=np.int64),
        tangent=np.tile(TANGENT, (count, 1)),
        unlit=np.full(count, NOTHING),
        unwoven=np.zeros(count, dtype=np.int64),
        law=np.column_stack([row, row]),
        grid=np.zeros((count, 9)),
        cells=np.full((count, 3), -1),
        mirror=np.zeros(count, dtype=np.int64),
        shared=np.zeros(0, dtype=np.int64),
    )
    return Bench(pack_laws(list(laws.values()), [flat], edges_nm), surfaces, tuple(laws))


def arriving(degrees: float, azimuth_deg: float = 25.0, front: bool = True) -> F64:
    """Direction (3,) of light that arrives at so many degrees from the normal; the azimuth counts from the tangent."""
    polar, azimuth = np.radians(degrees), np.radians(azimuth_deg)
    across = np.cross(NORMAL, TANGENT)
    side = np.sin(polar) * (np.cos(azimuth) * TANGENT + np.sin(azimuth) * across)
    return side - (1.0 if front else -1.0) * np.cos(polar) * NORMAL
