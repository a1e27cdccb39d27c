"""Results whose truth is known: fields given by a formula, replicates with known noise.

Invented numbers, for tests alone.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sim.geometry.frame import Frame
from sim.spectra.spectrum import Spectrum
from sim.tally.lamp_record import LampRecord
from sim.tally.result import Energy, FloatArray, Geometry, Group, GroupKind, Meta, Result

EDGES_NM = np.array([250.0, 280.0, 290.0, 300.0, 310.0, 320.0, 340.0, 400.0])
SIZE = (1.2, 0.6, 0.6)
CELL = 0.05
TUBE = Spectrum.mix(
    [(Spectrum.gaussian_band(306.0, 40.0, 280.0, 400.0), 0.9), (Spectrum.from_lines([(313.155, 1.0)]), 0.1)]
)
"""Power one: a Gaussian of the shape of a UVB phosphor and a mercury line."""

Field = Callable[[FloatArray, FloatArray], FloatArray]
"""True UV index at centres (n, 3) with normals (n, 3): (n,)."""


@dataclass(frozen=True)
class Patch:
    """A rectangle with cells (or a point, where the shape is (0, 0)) that becomes a group."""

    kind: GroupKind
    name: str
    origin: Sequence[float]
    edge_u: Sequence[float]
    edge_v: Sequence[float]
    shape: tuple[int, int]
    detail: dict[str, Any] | None = None

    @property
    def frame(self) -> Frame:
        return Frame(np.array(self.origin), np.array(self.edge_u), np.array(self.edge_v), self.shape)


def uvi_per_watt(spectrum: Spectrum, low_nm: float = 250.0, high_nm: float = 400.0) -> float:
    """UV index per W/m2 by the definition, on a fine grid of its own: no code of sim.spectra's integrals."""
    wavelength = np.linspace(low_nm, high_nm, 150_001)
    middle = 0.5 * (wavelength[1:] + wavelength[:-1])
    step = wavelength[1] - wavelength[0]
    density = spectrum.density_at(middle)
    uvi = 40.0 * float((density * reference_erythema(middle)).sum() * step)
    inside = (spectrum.line_nm >= low_nm) & (spectrum.line_nm < high_nm)
    return uvi + 40.0 * float((spectrum.line_power * reference_erythema(spectrum.line_nm))[inside].sum())


def reference_erythema(wavelength: FloatArray) -> FloatArray:
    """CIE S 007/E:1998."""
    return np.select(
        [wavelength <= 298, wavelength <= 328],
        [1.0, 10 ** (0.094 * (298 - wavelength))],
        10 ** (0.015 * (140 - wavelength)),
    )


def make_result(
    patches: Sequence[Patch],
    field: Field,
    noise: float = 0.05,
    replicates: int = 64,
    seed: int = 1,
    lamps: Sequence[tuple[str, Spectrum, float]] = (("tube", TUBE, 1.0),),
) -> Result:
    """Return a result whose true UV index is `field`, from lamps that give each its share (last of the three) of it.

    Noise is Gaussian, relative to the value, independent in replicates and cells, common to lamps and bands.
    """
    groups, centres, normals, areas, first = [], [], [], [], 0
    for patch in patches:
        centre, normal, area = _receivers(patch)
        rows = {"origin": patch.origin, "edge_u": patch.edge_u, "edge_v": patch.edge_v}
        vectors = {key: tuple(float(part) for part in value) for key, value in rows.items()}
        groups.append(Group(patch.kind, patch.name, first, len(area), patch.shape, detail=patch.detail, **vectors))  # type: ignore[arg-type]
        first += len(area)
        centres.append(centre)
        normals.append(normal)
        areas.append(area)
    centre, normal, area = np.concatenate(centres), np.concatenate(normals), np.concatenate(areas)
    truth = field(centre, normal)
    rng = np.random.Generator(np.random.Philox(seed))
    drawn = truth * (1.0 + noise * rng.standard_normal((replicates, len(area))))
    shares = np.array([share / uvi_per_watt(spectrum) for _, spectrum, share in lamps])
    bands = np.array([spectrum.band_power(EDGES_NM) for _, spectrum, _ in lamps])
    irradiance = drawn[:, :, None, None] * (shares[:, None] * bands)
    records = tuple(
        LampRecord(name, 1.5 * share, spectrum, (0.6, 0.3, 0.55), (0.0, 0.0, -1.0), ("radiant power stated",))
        for name, spectrum, share in lamps
    )
    return Result(
        meta=Meta("Synthetic box", "box.toml", "0123456789abcdef", "0.1.0", seed, 2_000_000, replicates),
        lamps=records,
        edges_nm=EDGES_NM,
        groups=tuple(groups),
        centre=centre,
        normal=normal,
        area=area,
        irradiance=irradiance.astype(np.float32),
        energy=_energy(records),
        geometry=_geometry(records),
        scene={"title": "Synthetic box"},
    )


def _receivers(patch: Patch) -> tuple[FloatArray, FloatArray, FloatArray]:
    if patch.shape == (0, 0):
        points = np.array(patch.origin) + np.outer(np.linspace(0, 1, 12 if any(patch.edge_u) else 1), patch.edge_u)
        return points, np.tile([0.0, 0.0, 1.0], (len(points), 1)), np.zeros(len(points))
    frame = patch.frame
    return frame.cell_centres, np.tile(frame.normal, (len(frame.cell_areas), 1)), frame.cell_areas


def _energy(lamps: tuple[LampRecord, ...]) -> Energy:
    emitted = np.array([lamp.radiant_power * lamp.spectrum.band_power(EDGES_NM) for lamp in lamps])
    absorbed = np.array([0.6, 0.35]).reshape(2, 1, 1) * emitted
    return Energy(emitted, 0.04 * emitted, 0.01 * emitted, absorbed, ("floor", "walls"))


def _geometry(lamps: tuple[LampRecord, ...]) -> Geometry:
    """Return a flat lamp of 60 cm by 2 cm at 55 cm for the first lamp."""
    corners = np.array([[0.3, 0.29, 0.55], [0.9, 0.29, 0.55], [0.9, 0.31, 0.55], [0.3, 0.31, 0.55]])
    faces = np.array([[0, 1, 2], [0, 2, 3]], dtype=np.int64)
    return Geometry(corners, faces, np.zeros(2, dtype=np.int64), (lamps[0].name,))


def uniform(value: float) -> Field:
    """The same UV index everywhere."""
    return lambda centre, normal: np.full(len(centre), value)


def tube_field(strength: float) -> Field:
    """Line lamp along x at the middle of the box, 0.55 m up, plus a little scattered light.

    Distance law of a Lambertian line (Keitz, Light Calculations and Measurements, 1971) without its ends.
    """

    def field(centre: FloatArray, normal: FloatArray) -> FloatArray:
        towards = np.array([0.6, 0.3, 0.55]) - centre
        towards[:, 0] = np.sign(towards[:, 0]) * np.clip(np.abs(towards[:, 0]) - 0.3, 0.0, None)
        distance = np.linalg.norm(towards, axis=1)
        cosine = np.clip((towards * normal).sum(axis=1) / distance, 0.0, None)
        return strength * (cosine / np.maximum(distance, 0.03) + 0.05)

    return field


def box_patches(size: tuple[float, float, float] = SIZE, cell: float = CELL) -> list[Patch]:
    """Six walls facing inwards, in an order and with edges of no particular system."""
    x, y, z = size
    nx, ny, nz = (round(length / cell) for length in size)
    return [
        Patch("surface", "floor", (0, 0, 0), (x, 0, 0), (0, y, 0), (nx, ny)),
        Patch("surface", "ceiling", (0, y, z), (x, 0, 0), (0, -y, 0), (nx, ny)),
        Patch("surface", "front", (x, 0, 0), (-x, 0, 0), (0, 0, z), (nx, nz)),
        Patch("surface", "back", (0, y, 0), (x, 0, 0), (0, 0, z), (nx, nz)),
        Patch("surface", "left", (0, 0, 0), (0, y, 0), (0, 0, z), (ny, nz)),
        Patch("surface", "right", (x, y, 0), (0, -y, 0), (0, 0, z), (ny, nz)),
    ]


def terrarium_patches() -> list[Patch]:
    """A box with a ledge, places within reach, two zones, sensors and a profile under the lamp."""
    basking = {"role": "basking", "mean": [1.0, 2.6], "max": 7.4, "share": 0.8, "height_m": 0.03}
    refuge = {"role": "refuge", "mean": [0.0, 0.7], "max": None, "share": None, "height_m": 0.03}
    return [
        *box_patches(),
        Patch("surface", "ledge.top", (0.4, 0.15, 0.15), (0.3, 0, 0), (0, 0.2, 0), (6, 4)),
        Patch("surface", "ledge.front", (0.4, 0.15, 0.12), (0.3, 0, 0), (0, 0, 0.03), (6, 1)),
        Patch("reach", "floor", (0, 0, 0.03), (1.2, 0, 0), (0, 0.6, 0), (24, 12)),
        Patch("reach", "ledge.top", (0.4, 0.15, 0.18), (0.3, 0, 0), (0, 0.2, 0), (6, 4)),
        Patch("zone", "basking", (0.45, 0.18, 0.18), (0.2, 0, 0), (0, 0.14, 0), (8, 6), basking),
        Patch("zone", "hide", (1.0, 0.05, 0.03), (0.15, 0, 0), (0, 0.2, 0), (5, 6), refuge),
        Patch("sensor", "meter", (0.6, 0.3, 0.2), (0, 0, 0), (0, 0, 0), (0, 0), {"kind": "point"}),
        Patch("sensor", "back height", (0.4, 0.2, 0.1), (0.4, 0, 0), (0, 0.2, 0), (4, 2), {"kind": "grid"}),
        Patch(
            "sensor",
            "under tube",
            (0.6, 0.3, 0.5),
            (0, 0, -0.49),
            (0, 0, 0),
            (0, 0),
            {"kind": "profile", "lamp": "tube"},
        ),
    ]


def terrarium(strength: float = 0.8, noise: float = 0.05, replicates: int = 64) -> Result:
    """Return the result of the terrarium under a tube."""
    return make_result(terrarium_patches(), tube_field(strength), noise=noise, replicates=replicates)


def retitled(result: Result, title: str) -> Result:
    """Return a result under another title."""
    return replace(result, meta=replace(result.meta, title=title))
