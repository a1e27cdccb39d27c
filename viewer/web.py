"""A result as one HTML file that asks nothing of any server: turn the model, dim lamps, read numbers.

The model is drawn by the script that `trame_vtk` carries in its package. Its serialiser is no public interface, hence
the pinned version in ``pyproject.toml``; `tests/system/test_web_page.py` opens a page in a browser.
"""

import base64
import html
import io
import json
import re
import zipfile
from collections.abc import Sequence
from pathlib import Path
from string import Template
from typing import Any

import numpy as np
import pyvista as pv

from sim.analysis.dimming import lamp_parts
from sim.analysis.numbers import plain
from sim.analysis.selection import Selection
from sim.report.cautions import SHORT
from sim.tally.statistics import t_factor
from viewer.beside import PLAIN_COLOURS, WORDS
from viewer.layers import ROW, Layer, Role, is_wall, layers, mapped
from viewer.packages import require
from viewer.scale import Scale, scale_for
from viewer.stage import room_of
from viewer.web_scene import ASPECT, drawn_scene
from viewer.web_words import label_of, lamp_rows, marks, places_list, zone_rows, zones_table

_FOLDER = Path(__file__).parent / "page"
_ICONS = re.compile(r"https://[\w.]+/vtk-js/icon/[\w.-]*")
_OPAQUE: tuple[Role, ...] = ("thing", "lamp", "back")


def web_page(shown: Selection) -> str:
    """Return the page.

    Parameters
    ----------
    shown : Selection

    Raises
    ------
    NoPackageError
        If the package that draws in the browser is not installed.
    ValueError
        If no surface of the result is mapped.
    """
    require("trame_vtk")
    whole = layers(shown)
    maps = [layer for layer in whole if layer.role == "map"]
    if not maps:
        raise ValueError("no surface of this result is mapped, so that a page would show nothing; see report.html")
    scale = scale_for(shown)
    viewer = _bundle(drawn_scene(shown, whole, scale))
    body = Template((_FOLDER / "page.html").read_text(encoding="utf-8")).substitute(_parts(shown, whole, maps, scale))
    style = (_FOLDER / "page.css").read_text(encoding="utf-8")
    title = html.escape(shown.result.meta.title or shown.result.meta.scene)
    head, found, rest = viewer.partition("<body>")
    assert found, "the bundled page has a body"
    head = re.sub(r"<title>.*?</title>", lambda _: f"<title>{title}</title>", head)
    head = head.replace("</head>", f"<style>\n{style}</style>\n</head>")
    return f"{head}<body>\n{body}{rest}"


def _bundle(scene: dict[str, Any]) -> str:
    """Return the page that trame_vtk makes of a scene, without the addresses that it would ask for icons."""
    from trame_vtk.tools.vtksz2html import write_html

    packed, page = io.BytesIO(), io.StringIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        # A fixed time, so that equal results give equal pages.
        entry = zipfile.ZipInfo("index.json", date_time=(2000, 1, 1, 0, 0, 0))
        archive.writestr(entry, json.dumps(scene), zipfile.ZIP_DEFLATED)
    write_html(packed.getvalue(), page)
    return _ICONS.sub("data:,", page.getvalue())


def _parts(shown: Selection, whole: Sequence[Layer], maps: Sequence[Layer], scale: Scale) -> dict[str, str]:
    meta = shown.result.meta
    roles = {layer.role for layer in whole if layer.role != "back" or "." not in layer.name}
    legend = (_legend_row(role) for role in PLAIN_COLOURS if role in roles)
    numbers = json.dumps(_numbers(shown, whole, maps), allow_nan=False).replace("</", "<\\/")
    return {
        "title": html.escape(meta.title or meta.scene),
        "origin": html.escape(f"{meta.scene}, {meta.histories} photons, seed {meta.seed}"),
        "label": html.escape(label_of(shown)),
        "quantity": html.escape(scale.title),
        "unit": html.escape(scale.unit or "no unit"),
        "colours": ", ".join(_bar_colours(scale)),
        "ticks": "".join(_ticks(scale)),
        "bar_note": f"Half of the cells have a standard error below {plain(float(f'{scale.typical_error:.2g}'))}.",
        "lamps": lamp_rows(shown),
        "zones": zones_table(shown),
        "places": places_list(shown),
        "legend": "".join(legend),
        "caution": html.escape(SHORT),
        "numbers": numbers,
        "script": (_FOLDER / "page.js").read_text(encoding="utf-8"),
    }


def _legend_row(role: Role) -> str:
    colour, drawn_as_lines = PLAIN_COLOURS[role], role in ("screen", "cover")
    style = f"--c: {colour}" if drawn_as_lines else f"background: {colour}"
    return f'<li><i class="{"line" if drawn_as_lines else "fill"}" style="{style}"></i>{WORDS[role]}</li>'


def _bar_colours(scale: Scale) -> list[str]:
    values = scale.table.values[:: 255 // 51]
    return [pv.Color(row[:3]).hex_rgb for row in values]


def _ticks(scale: Scale) -> list[str]:
    top = scale.ticks.top
    cut = " or more" if scale.ticks.cut else ""
    values = (0.0, *scale.ticks.levels, top)
    return [
        f'<li style="bottom: {100.0 * value / top:.4g}%">{plain(value)}{cut if value == top else ""}</li>'
        for value in values
    ]


def _numbers(shown: Selection, whole: Sequence[Layer], maps: Sequence[Layer]) -> dict[str, Any]:
    """Return all that the page's script reads: what each lamp gives each cell, where cells and bodies are."""
    rows = np.concatenate([np.asarray(layer.mesh.cell_data[ROW], dtype=np.int64) for layer in maps])
    parts = lamp_parts(shown.result, shown.quantity)
    place = np.full(len(shown.result.area), -1, dtype=np.int64)
    place[rows] = np.arange(len(rows))
    return {
        "part": shown.part,
        "unit": shown.unit,
        "t": t_factor(parts.replicates),
        "levels": list(shown.levels or (1.0,) * len(shown.result.lamps)),
        "cells": len(rows),
        "means": [_packed(part[rows]) for part in parts.mean],
        "pairs": [_packed(part[rows]) for part in parts.covariance],
        "grids": [_grid(shown, layer, place) for layer in maps],
        "bodies": [_body(layer) for layer in whole if layer.role in _OPAQUE and layer.mesh.n_cells],
        "zones": zone_rows(shown),
        "marks": marks(shown, room_of(whole)),
        "aspect": ASPECT,
    }


def _grid(shown: Selection, layer: Layer, place: np.ndarray[Any, np.dtype[np.int64]]) -> dict[str, Any]:
    group = next(group for group in mapped(shown.result) if group.name == layer.name)
    return {
        "name": layer.name,
        "origin": list(group.origin),
        "u": list(group.edge_u),
        "v": list(group.edge_v),
        "normal": shown.result.normal[group.first].tolist(),
        "shape": list(group.shape),
        "wall": is_wall(layer.name),
        "place": base64.b64encode(place[group.rows].astype("<i4").tobytes()).decode(),
    }


def _body(layer: Layer) -> dict[str, str]:
    corners = np.asarray(layer.mesh.points, dtype=np.float64)[layer.mesh.regular_faces.ravel()]
    return {"name": layer.name, "words": WORDS[layer.role], "corners": _packed(corners.ravel())}


def _packed(values: np.ndarray[Any, np.dtype[np.float64]]) -> str:
    return base64.b64encode(np.ascontiguousarray(values, dtype="<f4").tobytes()).decode()
