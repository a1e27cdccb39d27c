"""A result as files for programs that show meshes with numbers on them: VTP (one mesh), VTM (a block a surface)."""

import errno
import json
import logging
import os
import shutil
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pyvista as pv

from sim.analysis.selection import Selection
from viewer.layers import ERROR, ROW, VALUE, Layer, layers
from viewer.meta import EXPORTED, provenance

SURFACE = "surface"
METADATA = "metadata"


def numbered_layers(shown: Selection) -> tuple[Layer, ...]:
    """Return the layers of a result, whose maps carry every exported quantity with its standard error.

    Cell data are ``NAME`` and ``NAME standard error`` of each quantity and `ROW`; a cell that was not read has NaN and
    receiver -1.
    """
    found = {name: Selection(shown.result, name, shown.levels).found for name in _names(shown)}
    whole = layers(shown)
    for layer in whole:
        cells = layer.mesh.n_cells
        is_map = layer.role == "map"
        rows = np.asarray(layer.mesh.cell_data[ROW]) if is_map else np.full(cells, -1)
        for key in (VALUE, ERROR):
            if is_map:
                del layer.mesh.cell_data[key]
        layer.mesh.cell_data[ROW] = rows.astype(np.int64)
        for name, each in found.items():
            for key, numbers in ((name, each.mean), (f"{name} {ERROR}", each.se)):
                layer.mesh.cell_data[key] = numbers[rows] if is_map else np.full(cells, np.nan)
        layer.mesh.set_active_scalars(shown.quantity, preference="cell")
    return whole


def one_mesh(shown: Selection) -> pv.PolyData:
    """Return all surfaces as one mesh; cell data `SURFACE` counts along the field data ``surface names``."""
    whole = numbered_layers(shown)
    for number, layer in enumerate(whole):
        layer.mesh.cell_data[SURFACE] = np.full(layer.mesh.n_cells, number, dtype=np.int64)
    mesh = pv.PolyData().append_polydata(*(layer.mesh for layer in whole)) if whole else pv.PolyData()
    mesh.field_data["surface names"] = [layer.name for layer in whole]
    mesh.field_data["surface roles"] = [layer.role for layer in whole]
    mesh.field_data[METADATA] = [json.dumps(provenance(shown))]
    return mesh


def blocks(shown: Selection) -> pv.MultiBlock:
    """Return a block a surface, named ``ROLE: SURFACE``; each carries the metadata."""
    found = pv.MultiBlock()
    for layer in numbered_layers(shown):
        layer.mesh.field_data[METADATA] = [json.dumps(provenance(shown))]
        found.append(layer.mesh, f"{layer.role}: {layer.name}")
    return found


def write_vtp(shown: Selection, path: Path) -> None:
    """Write one mesh as VTP; the file appears whole or not at all."""
    partial = path.with_name(f".{os.getpid()}.{path.name}")
    try:
        _save(one_mesh(shown), partial, path)
        os.replace(partial, path)
    finally:
        partial.unlink(missing_ok=True)


def _save(mesh: pv.PolyData | pv.MultiBlock, partial: Path, path: Path) -> None:
    """Write a mesh that was asked for at `path`.

    Raises
    ------
    OSError
        If it could not be written whole, which the library does not tell its caller.
    """
    logging.disable(logging.CRITICAL)
    try:
        with pv.vtk_verbosity("off"):
            mesh.save(partial)
    finally:
        logging.disable(logging.NOTSET)
    files = [partial, *vtm_folder(partial).glob("*.vt?")]
    if not all(file.read_bytes().rstrip().endswith(b"</VTKFile>") for file in files):
        raise OSError(errno.EIO, "it could not be written whole; the disk may be full", str(path))


def vtm_folder(path: Path) -> Path:
    """Return the folder beside a VTM file that holds its blocks."""
    return path.with_suffix("")


def write_vtm(shown: Selection, path: Path) -> None:
    """Write a VTM file and the folder of its name with the blocks, in the place of earlier ones."""
    partial = path.with_name(f".{os.getpid()}.part")
    folder = vtm_folder(path)
    try:
        partial.mkdir()
        _save(blocks(shown), partial / path.name, path)
        if folder.exists():
            shutil.rmtree(folder)
        os.replace(vtm_folder(partial / path.name), folder)
        os.replace(partial / path.name, path)
    finally:
        shutil.rmtree(partial, ignore_errors=True)


def _names(shown: Selection) -> Sequence[str]:
    return list(dict.fromkeys((shown.quantity, *EXPORTED)))
