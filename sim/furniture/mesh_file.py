"""The gate for triangles from a file: what is wrong is refused or said, never mended in silence."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

import numpy as np
from pydantic import AfterValidator

from sim.geometry.closed import BoolArray, close_up, edge_uses, merged, picked, signed_volume
from sim.geometry.mesh import FloatArray, IntArray, Mesh
from sim.spec import SceneFile
from sim.units import LENGTH

Unit = Literal["mm", "cm", "m", "in", "ft"]
SUFFIXES = (".stl", ".obj", ".ply", ".glb")
SMALLEST, LARGEST = 1e-4, 100.0
LIKELY = (0.01, 10.0)
"""Longest extents of what stands in an enclosure, or is one [m]; only used to guess a better unit."""


@dataclass(frozen=True)
class MeshFile:
    """What a mesh file holds, in metres.

    Attributes
    ----------
    name : str
        Of the file.
    mesh : Mesh
        Without degenerate triangles; vertices at the very same place are one. Fronts outward where it is watertight.
    degenerate : int
        Triangles without area, which were left out.
    doubled : int
        Triangles whose corners another one has already; they were kept.
    watertight : bool
        Whether it encloses a body.
    consistent : bool
        Whether neighbouring triangles look the same way.
    turned : str, optional
        Where the file's fronts faced before they were turned, inward or outward; None where they were not.
    """

    name: str
    mesh: Mesh
    degenerate: int
    doubled: int
    watertight: bool
    consistent: bool
    turned: Literal["inward", "outward"] | None

    @property
    def size(self) -> str:
        """Its lengths along x, y and z in words, in metres."""
        low, high = self.mesh.bounds
        return " x ".join(f"{extent:.4g}" for extent in high - low)

    def note(self) -> str:
        """Return one line on its triangles, its size and its faults."""
        shape = "watertight" if self.watertight else "not watertight"
        facts = [f"{len(self.mesh.faces)} triangles", f"{self.size} m", shape]
        low, high = self.mesh.bounds
        if not LIKELY[0] <= float((high - low).max()) <= LIKELY[1]:
            facts.append("of an odd size: is its unit right?")
        if self.degenerate:
            facts.append(f"{_counted(self.degenerate, 'triangle')} without area left out")
        if self.doubled:
            facts.append(f"{_counted(self.doubled, 'triangle')} given twice")
        if not self.consistent:
            facts.append("fronts of neighbouring triangles differ, so some of it is read from behind")
        if self.turned:
            facts.append(f"fronts faced {self.turned} and were turned")
        return f"{self.name}: {', '.join(facts)}"


def _of_a_kind_that_is_read(path: Path) -> Path:
    suffix = path.suffix.lower()
    if suffix == ".gltf":
        raise ValueError(f"'{path.name}' has its numbers in other files; export it as .glb, which is one file")
    if suffix not in SUFFIXES:
        raise ValueError(f"'{path.name}' is no mesh file that can be read; use one of {', '.join(SUFFIXES)}")
    return path


MeshPath = Annotated[SceneFile, AfterValidator(_of_a_kind_that_is_read)]
"""A mesh file named by a scene."""


def unit_fault(path: Path, unit: str | None) -> str | None:
    """Return what is wrong with the unit given for a mesh file, as one line; None if nothing is."""
    suffix = path.suffix.lower()
    if suffix == ".glb" and unit is not None:
        return "'unit' must be left out for a .glb file, whose format states metres"
    if suffix != ".glb" and unit is None:
        return f"'unit' is missing: a {suffix} file does not say it; write unit = 'mm' (or cm, m, in, ft)"
    return None


def stated_polygons(path: Path) -> int | None:
    """Return how many polygons a file says or shows that it holds; None where its format does not tell.

    Raises
    ------
    ValueError
        If a binary STL file is longer or shorter than its count of triangles asks for.
    """
    data = path.read_bytes()
    match path.suffix.lower():
        case ".stl":
            return _stl_triangles(path.name, data)
        case ".obj":
            return len(re.findall(rb"^[ \t]*f[ \t]", data, re.MULTILINE))
        case ".ply":
            found = re.search(rb"^element face (\d+)", data[:65536], re.MULTILINE)
            return int(found.group(1)) if found else None
    return None


def _stl_triangles(name: str, data: bytes) -> int:
    # Many binary files start with "solid" too; only text has facets as lines, which some programs write in capitals.
    if b"\0" not in data[:1024]:
        facets = len(re.findall(rb"^[ \t]*facet[ \t]+normal", data, re.MULTILINE | re.IGNORECASE))
        if facets:
            return facets
    if len(data) < 84:
        raise ValueError(f"'{name}' is too short for an STL file; export it again")
    count = int.from_bytes(data[80:84], "little")
    if len(data) != 84 + 50 * count:
        raise ValueError(
            f"'{name}' says {count} triangles, which takes {84 + 50 * count} bytes, but has {len(data)}: "
            "it is cut off or no STL file; export it again"
        )
    return count


def gated(path: Path, vertices: FloatArray, faces: IntArray, unit: str | None, scale: float) -> MeshFile:
    """Return the mesh of a file after all checks.

    Parameters
    ----------
    path : Path
    vertices : (n, 3) float
        As the file has them, in its unit.
    faces : (m, 3) int
    unit : str or None
        None for metres.
    scale : float
        Factor on top of the unit.

    Raises
    ------
    ValueError
        One line, if there is nothing to draw, triangles are missing, a coordinate is not finite, or the size is absurd.
    """
    stated = stated_polygons(path)
    if stated is not None and len(faces) < stated:
        found = f"only {_counted(len(faces), 'triangle')}" if len(faces) else "no triangle"
        raise ValueError(
            f"'{path.name}' states {_counted(stated, 'polygon')}, but {found} could be read: "
            "it is cut off or broken; export it again"
        )
    if len(faces) == 0:
        raise ValueError(f"'{path.name}' holds no triangles; export it again as triangles")
    finite: BoolArray = np.all(np.isfinite(vertices), axis=1)
    bad = 0 if np.all(finite) else np.count_nonzero(~finite[faces].all(axis=1))
    if bad:
        raise ValueError(
            f"'{path.name}' has {_counted(int(bad), 'triangle')} with a coordinate that is not a finite number; "
            "repair it where it was drawn"
        )
    factor = scale * (1.0 if unit is None else LENGTH[unit])
    _refuse_absurd_size(path.name, Mesh(vertices, faces), unit, scale)
    return _inspected(path.name, Mesh(factor * vertices, faces))


def _refuse_absurd_size(name: str, raw: Mesh, unit: str | None, scale: float) -> None:
    is_used = np.zeros(len(raw.vertices), dtype=np.bool_)
    is_used[raw.faces] = True
    used = raw.vertices[is_used]
    extents = scale * (used.max(axis=0) - used.min(axis=0))
    metres = float(extents.max()) * (1.0 if unit is None else LENGTH[unit])
    if SMALLEST <= metres <= LARGEST:
        return
    written = " x ".join(f"{extent:.4g}" for extent in extents)
    likely = [other for other in ("mm", "cm", "in", "m") if LIKELY[0] <= extents.max() * LENGTH[other] <= LIKELY[1]]
    if unit is None:
        hint = "a .glb file must be in metres: export it so, or give a scale"
    elif likely:
        hint = f"the unit is more likely {' or '.join(repr(other) for other in likely)}"
    else:
        hint = "check 'unit' and 'scale'"
    raise ValueError(f"'{name}' is {written} {unit or 'm'}, outside {1e3 * SMALLEST:g} mm to {LARGEST:g} m; {hint}")


def _inspected(name: str, mesh: Mesh) -> MeshFile:
    welded = merged(mesh)
    is_flat = _without_area(welded)
    if np.all(is_flat):
        raise ValueError(f"'{name}' holds only triangles without area; export it again")
    kept = picked(welded, ~is_flat)
    uses, forward = edge_uses(kept)
    watertight = close_up(uses, forward)
    turned = watertight and signed_volume(kept) < 0.0
    return MeshFile(
        name=name,
        mesh=kept.flipped() if turned else kept,
        degenerate=int(np.count_nonzero(is_flat)),
        doubled=_doubled(kept),
        watertight=watertight,
        consistent=bool(np.all(forward[uses == 2] == 1)),
        turned="inward" if turned else None,
    )


def _doubled(mesh: Mesh) -> int:
    """Return how many triangles have the corners of another one."""
    ordered = np.sort(mesh.faces, axis=1)
    ordered = ordered[np.lexsort(ordered.T)]
    return int(np.count_nonzero(np.all(ordered[:-1] == ordered[1:], axis=1)))


def _without_area(mesh: Mesh) -> BoolArray:
    """Whether each triangle is a line or a point, to the accuracy of single-precision files."""
    one, two, three = mesh.side_lengths.T
    longest = np.maximum(np.maximum(one, two), three)
    flat: BoolArray = mesh.areas <= 1e-12 * longest * longest
    return flat


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
