"""A result as GLB, the binary form of glTF 2.0, with coloured maps and the numbers behind the colours.

glTF 2.0 is ISO/IEC 12113:2022. Its axes are right-handed with y up, its unit the metre, its vertex colours linear; a
vertex attribute with a leading underscore is the application's own. Light and shade would change the colours of a map,
so maps carry the extension KHR_materials_unlit.
"""

import json
import struct
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import pyvista as pv

from sim.analysis.selection import Selection
from sim.tally.result import FloatArray
from viewer.beside import PLAIN_COLOURS
from viewer.layers import ERROR, ROW, VALUE, Layer, layers, mapped
from viewer.meta import provenance
from viewer.scale import COLOURS, Scale, scale_for

_FLOAT, _UINT = 5126, 5125
_UNLIT = "KHR_materials_unlit"


@dataclass
class _Buffer:
    """Bytes of a file, and the views and accessors into them."""

    content: bytearray = field(default_factory=bytearray)
    views: list[dict[str, Any]] = field(default_factory=list)
    accessors: list[dict[str, Any]] = field(default_factory=list)

    def add(self, values: npt.NDArray[Any], kind: str, *, bounds: bool = False, index: bool = False) -> int:
        """Append an array and return the number of its accessor."""
        data = np.ascontiguousarray(values, dtype="<u4" if index else "<f4")
        target = 34963 if index else 34962
        self.views.append({"buffer": 0, "byteOffset": len(self.content), "byteLength": data.nbytes, "target": target})
        self.content += data.tobytes()
        row = {
            "bufferView": len(self.views) - 1,
            "componentType": _UINT if index else _FLOAT,
            "count": len(data),
            "type": kind,
        }
        if bounds:
            row |= {"min": data.min(axis=0).tolist(), "max": data.max(axis=0).tolist()}
        self.accessors.append(row)
        return len(self.accessors) - 1


def glb(shown: Selection) -> bytes:
    """Return a result as the content of a GLB file.

    Every surface is a node of its name. The vertices of a map belong to one cell each and carry its number
    (``_VALUE``), its standard error (``_STANDARD_ERROR``), its receiver (``_RECEIVER``), and its colour. What the
    colours mean stands in the ``extras`` of the scene.
    """
    scale = scale_for(shown) if mapped(shown.result) else None
    buffer = _Buffer()
    nodes: list[dict[str, Any]] = []
    meshes: list[dict[str, Any]] = []
    materials, place = _materials()
    for layer in layers(shown):
        attributes, corners = _map(buffer, layer, scale, shown) if layer.role == "map" else _body(buffer, layer)
        primitive = {"attributes": attributes, "indices": corners, "material": place[layer.role]}
        meshes.append({"name": layer.name, "primitives": [primitive]})
        nodes.append({"name": layer.name, "mesh": len(meshes) - 1, "extras": {"role": layer.role}})
    extras = provenance(shown) | {"legend": _legend(shown, scale)}
    head: dict[str, Any] = {
        "asset": {"version": "2.0", "generator": "vivray", "extras": extras},
        "extensionsUsed": [_UNLIT],
        "scene": 0,
        "scenes": [{"name": shown.result.meta.title, "nodes": list(range(len(nodes))), "extras": extras}],
        "nodes": nodes,
        "meshes": meshes,
        "materials": materials,
        "accessors": buffer.accessors,
        "bufferViews": buffer.views,
        "buffers": [{"byteLength": len(buffer.content)}],
    }
    return _packed(head, bytes(buffer.content))


def _packed(head: dict[str, Any], content: bytes) -> bytes:
    """Return header and chunks; text is padded with spaces, numbers with zeros, to multiples of four bytes."""
    text = json.dumps(head, ensure_ascii=False, allow_nan=False).encode()
    text += b" " * (-len(text) % 4)
    content += bytes(-len(content) % 4)
    chunks = struct.pack("<I4s", len(text), b"JSON") + text + struct.pack("<I4s", len(content), b"BIN\0") + content
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


def _legend(shown: Selection, scale: Scale | None) -> dict[str, Any] | None:
    if scale is None:
        return None
    return {
        "title": scale.title,
        "unit": scale.unit or "1",
        "colour_map": COLOURS,
        "range": [0.0, scale.ticks.top],
        "highest": scale.ticks.highest,
        "attribute": "_VALUE" if shown.part == "value" else "_STANDARD_ERROR",
    }


def _materials() -> tuple[list[dict[str, Any]], dict[str, int]]:
    """Return a material for maps and one for each plain colour, and which role has which."""
    maps: dict[str, Any] = {"name": "map", "pbrMetallicRoughness": {"metallicFactor": 0.0}, "extensions": {_UNLIT: {}}}
    found, place = [maps], {"map": 0}
    for role, colour in PLAIN_COLOURS.items():
        base = [*_linear(np.array([pv.Color(colour).float_rgb]))[0].tolist(), 1.0]
        surface = {"baseColorFactor": base, "metallicFactor": 0.0, "roughnessFactor": 1.0}
        place[role] = len(found)
        both_sides = role not in ("wall", "back")
        row: dict[str, Any] = {"name": role, "pbrMetallicRoughness": surface, "doubleSided": both_sides}
        found.append(row)
    for role in ("screen", "cover", "reflector"):
        row = found[place[role]]
        row["pbrMetallicRoughness"]["baseColorFactor"][3] = 0.3
        row["alphaMode"] = "BLEND"
    return found, place


def _map(buffer: _Buffer, layer: Layer, scale: Scale | None, shown: Selection) -> tuple[dict[str, int], int]:
    assert scale is not None, "a map has a scale"
    mesh = layer.mesh
    corners = mesh.regular_faces
    cells, sides = corners.shape
    data = {key: np.asarray(mesh.cell_data[key], dtype=np.float64) for key in (VALUE, ERROR, ROW)}
    numbers = data[VALUE if shown.part == "value" else ERROR]
    colours = _linear(_colours(scale, numbers))
    attributes = {
        "POSITION": buffer.add(_turned(mesh.points[corners.ravel()]), "VEC3", bounds=True),
        "COLOR_0": buffer.add(np.repeat(colours, sides, axis=0), "VEC3"),
        "_VALUE": buffer.add(np.repeat(data[VALUE], sides), "SCALAR"),
        "_STANDARD_ERROR": buffer.add(np.repeat(data[ERROR], sides), "SCALAR"),
        "_RECEIVER": buffer.add(np.repeat(data[ROW], sides), "SCALAR"),
    }
    first = sides * np.arange(cells)[:, None]
    triangles = np.concatenate([first + np.array([0, k, k + 1]) for k in range(1, sides - 1)], axis=1)
    return attributes, buffer.add(triangles.ravel(), "SCALAR", index=True)


def _body(buffer: _Buffer, layer: Layer) -> tuple[dict[str, int], int]:
    position = buffer.add(_turned(layer.mesh.points), "VEC3", bounds=True)
    return {"POSITION": position}, buffer.add(layer.mesh.regular_faces.ravel(), "SCALAR", index=True)


def _turned(points: Iterable[Any]) -> FloatArray:
    """Return points with y up instead of z."""
    x, y, z = np.asarray(points, dtype=np.float64).T
    return np.column_stack([x, z, -y])


def _colours(scale: Scale, numbers: FloatArray) -> FloatArray:
    """Return the colours of numbers as the colour bar has them, (n, 3), 0 … 1."""
    table = scale.table
    place = np.clip(numbers / scale.ticks.top * table.n_values, 0, table.n_values - 1).astype(np.int64)
    colours: FloatArray = np.asarray(table.values, dtype=np.float64)[place, :3] / 255.0
    return colours


def _linear(colours: FloatArray) -> FloatArray:
    """Return colours of a screen in linear light (IEC 61966-2-1)."""
    return np.where(colours <= 0.04045, colours / 12.92, ((colours + 0.055) / 1.055) ** 2.4)
