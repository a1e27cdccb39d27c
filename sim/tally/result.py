"""What a run leaves behind: irradiance per replicate, receiver, lamp and band, and all it takes to read it.

A Result holds no clock time, thread count or machine name, so that the same scene and seed give the same bytes.
"""

import json
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from sim.spectra.spectrum import Spectrum
from sim.tally.archive import read_archive, write_archive
from sim.tally.lamp_record import LampRecord, record_of
from sim.tally.packed import pack, unpack

FORMAT = 2
OLDER = (1,)
"""Formats that are read as well."""
PACKED_FROM = 1 << 27
"""Irradiance of so many bytes is packed, which takes about a second for each 2^27; less of it is written as it is."""
PACKED = "irradiance/"
POWERS = ("emitted", "escaped", "unfinished", "absorbed", "samples")
FloatArray = npt.NDArray[np.float64]
GroupKind = Literal["surface", "sensor", "zone", "reach", "section"]


class ResultError(ValueError):
    """A file that is not a result, or one of another format."""


@dataclass(frozen=True)
class Meta:
    """Where a result came from.

    Attributes
    ----------
    title, scene : str
        Title of the scene and name of its file.
    digest : str
        Digest of the validated scene and of the files it names.
    version : str
        Version of the program.
    seed, histories, replicates : int
        Seed; photons in all lamps and replicates together; count of independent replicates.
    """

    title: str
    scene: str
    digest: str
    version: str
    seed: int
    histories: int
    replicates: int
    format: int = FORMAT


@dataclass(frozen=True)
class Group:
    """A run of receivers that belong together: a surface's cells, a sensor, a zone, or reachable places.

    Attributes
    ----------
    kind, name : str
    first, count : int
        Rows ``first … first + count - 1`` of the receiver arrays.
    shape : (int, int)
        Cells along u and v where the receivers form a grid, else (0, 0); cell (i, j) is row ``first + i + shape[0] j``.
    origin, edge_u, edge_v : (float, float, float) [m]
        The grid's rectangle; zeros where there is none.
    detail : dict
        For a zone its ``role``, ``mean`` (low, high), ``max``, ``share``, ``height_m``; for a sensor its ``kind``; for
        a section its plane.
    """

    kind: GroupKind
    name: str
    first: int
    count: int
    shape: tuple[int, int] = (0, 0)
    origin: tuple[float, float, float] = (0.0, 0.0, 0.0)
    edge_u: tuple[float, float, float] = (0.0, 0.0, 0.0)
    edge_v: tuple[float, float, float] = (0.0, 0.0, 0.0)
    detail: dict[str, Any] | None = None

    @property
    def rows(self) -> slice:
        """Rows of the receiver arrays."""
        return slice(self.first, self.first + self.count)


@dataclass(frozen=True)
class Energy:
    """Radiant power by lamp and band [W]: emitted = absorbed (by surface) + escaped + unfinished.

    Attributes
    ----------
    emitted, escaped, unfinished : (lamp, band) float
    absorbed : (surface, lamp, band) float
        In the order of `names`.
    names : tuple of str
        Every surface with a law, lamp bodies and reflectors included.
    samples : (replicate, surface + 2, lamp) float, optional
        Over all bands in each replicate: absorbed by surface, escaped, unfinished. Older results lack it.
    """

    emitted: FloatArray
    escaped: FloatArray
    unfinished: FloatArray
    absorbed: FloatArray
    names: tuple[str, ...]
    samples: FloatArray | None = None


@dataclass(frozen=True)
class Geometry:
    """Triangles of the scene for drawing: vertices (n, 3) [m], faces (m, 3), surface of each face (m,), names."""

    vertices: FloatArray
    faces: npt.NDArray[np.int64]
    face_surface: npt.NDArray[np.int64]
    names: tuple[str, ...]


@dataclass(frozen=True)
class Result:
    """Irradiance of a run with its statistics.

    Attributes
    ----------
    meta : Meta
    lamps : tuple of LampRecord
    edges_nm : (band + 1,) float
    groups : tuple of Group
    centre, normal : (receiver, 3) float
    area : (receiver,) float [m2]
        Zero for a point.
    irradiance : (replicate, receiver, lamp, band) float32 [W m-2]
        Unweighted, at the lamps' powers; replicates are independent estimates of the same numbers.
    energy : Energy
    geometry : Geometry
    scene : dict
        The validated scene as JSON.
    """

    meta: Meta
    lamps: tuple[LampRecord, ...]
    edges_nm: FloatArray
    groups: tuple[Group, ...]
    centre: FloatArray
    normal: FloatArray
    area: FloatArray
    irradiance: npt.NDArray[np.float32]
    energy: Energy
    geometry: Geometry
    scene: dict[str, Any]

    def of_kind(self, kind: GroupKind) -> tuple[Group, ...]:
        """Return the groups of a kind, in the scene's order."""
        return tuple(group for group in self.groups if group.kind == kind)

    def group(self, kind: GroupKind, name: str) -> Group:
        """Return a group by kind and name.

        Raises
        ------
        KeyError
            If there is none.
        """
        for group in self.of_kind(kind):
            if group.name == name:
                return group
        raise KeyError(f"no {kind} called '{name}'; there are: {', '.join(g.name for g in self.of_kind(kind))}")

    def save(self, path: Path) -> None:
        """Write the result as ``.npz``; the file appears whole or not at all."""
        write_archive(path, _arrays(self))


def _arrays(result: Result) -> dict[str, npt.NDArray[Any]]:
    spectra = {}
    for index, lamp in enumerate(result.lamps):
        for item in fields(Spectrum):
            spectra[f"lamp{index}/{item.name}"] = getattr(lamp.spectrum, item.name)
    header = {
        "meta": asdict(result.meta),
        "lamps": [
            asdict(replace(lamp, spectrum=Spectrum.from_lines([]))) | {"spectrum": None} for lamp in result.lamps
        ],
        "groups": [asdict(group) for group in result.groups],
        "energy_names": result.energy.names,
        "geometry_names": result.geometry.names,
        "scene": result.scene,
    }
    energy = {f"energy/{key}": getattr(result.energy, key) for key in POWERS if getattr(result.energy, key) is not None}
    shape = {f"geometry/{key}": getattr(result.geometry, key) for key in ("vertices", "faces", "face_surface")}
    own = {key: getattr(result, key) for key in ("edges_nm", "centre", "normal", "area")}
    if result.irradiance.nbytes < PACKED_FROM:
        own |= {"irradiance": result.irradiance}
    else:
        own |= {f"{PACKED}{key}": part for key, part in pack(result.irradiance).items()}
    return {"header": np.array(json.dumps(header, sort_keys=True)), **own, **spectra, **energy, **shape}


def load_result(path: Path) -> Result:
    """Return the result in a file.

    Raises
    ------
    ResultError
        If the file is missing, not a result, cut short, or of another format; one line that says which.
    """
    if path.is_dir():
        raise ResultError(f"{path}: is a folder; give the result.npz in it")
    if not path.is_file():
        raise ResultError(f"{path}: no such file; give the result.npz that `vivray run` wrote")
    try:
        arrays = read_archive(path)
        header = json.loads(str(arrays["header"]))
        found = header["meta"]["format"]
        if found == FORMAT or found in OLDER:
            return _from_arrays(header, arrays)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        words = " ".join(str(error).split())
        raise ResultError(f"{path}: not a result file ({words}); give the result.npz that `vivray run` wrote") from None
    raise ResultError(f"{path}: result format {found}, this version reads format {FORMAT}; trace the scene again")


def _from_arrays(header: dict[str, Any], arrays: dict[str, npt.NDArray[Any]]) -> Result:
    lamps = tuple(
        record_of(row, Spectrum(**{item.name: arrays[f"lamp{i}/{item.name}"] for item in fields(Spectrum)}))
        for i, row in enumerate(header["lamps"])
    )
    vectors = ("shape", "origin", "edge_u", "edge_v")
    groups = tuple(Group(**row | {key: tuple(row[key]) for key in vectors}) for row in header["groups"])
    powers = {key: arrays[f"energy/{key}"] for key in POWERS if f"energy/{key}" in arrays}
    energy = Energy(**powers, names=tuple(header["energy_names"]))
    shape = {key: arrays[f"geometry/{key}"] for key in ("vertices", "faces", "face_surface")}
    geometry = Geometry(**shape, names=tuple(header["geometry_names"]))
    return Result(
        meta=Meta(**header["meta"]),
        lamps=lamps,
        groups=groups,
        energy=energy,
        geometry=geometry,
        scene=header["scene"],
        irradiance=_irradiance(arrays),
        **{key: arrays[key] for key in ("edges_nm", "centre", "normal", "area")},
    )


def _irradiance(arrays: dict[str, npt.NDArray[Any]]) -> npt.NDArray[np.float32]:
    if "irradiance" in arrays:
        return arrays["irradiance"]
    return unpack({key.removeprefix(PACKED): part for key, part in arrays.items() if key.startswith(PACKED)})
