"""Seconds to 1 % standard error per 5 cm receiver of a floor: vivray, its plain photons, and Mitsuba's path tracer.

``python bench/convergence.py`` prints a table, ``--json`` an object. All see the same triangles, on two threads, in
turns; each figure is the median over the floor's 288 receivers of ``time x (relative error / 1 %)^2``, and over turns.
Means over the floor are told with their errors, so that all answer the same question.

Each program takes its own best way: Mitsuba's camera looks at the floor from just above it, so that its paths start
there and look for the lamp at once. It renders with two of its samplers: "Mitsuba" (``mitsuba_s``, ``ratio_mitsuba``)
takes ``independent`` random numbers, what it takes where a scene names no sampler; "stratified"
(``mitsuba_stratified_s``, ``ratio_mitsuba_stratified``) takes ``multijitter``, which serves these scenes best.

The lamp is a tube, or with ``--lamp strip`` a flat one that is lit from below alone: points of it that are drawn evenly
all look at the floor. Kernels are compiled, scenes built, trees made and ways chosen before the clock starts.
"""

import argparse
import json
import math
import statistics
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from sim.compile import CompiledScene, compile_scene
from sim.scene.check import Survey, survey
from sim.scene.model import Scene
from sim.simulate.pilot import chosen_ways
from sim.simulate.tallies import REPLICATES, empty_tallies
from sim.simulate.trace import Tracer
from sim.transport.triangles import NOTHING, lamp_of

FloatArray = npt.NDArray[np.float64]

SIZE = (1.2, 0.6, 0.6)
CELLS = (24, 12)
LAMP_WATTS = 10.0
LAMPS: dict[str, dict[str, Any]] = {
    "tube": {"kind": "tube", "from": (0.3, 0.3, 0.55), "to": (0.9, 0.3, 0.55), "radius": 0.013},
    "strip": {"kind": "panel", "corner": (0.3, 0.313, 0.55), "edge_u": (0.6, 0.0, 0.0), "edge_v": (0.0, -0.026, 0.0)},
}
"""A T8 tube, which glows all around, or a flat lamp as wide that is lit from below alone. Both are black to light."""
WALL, CEILING, FLOOR, MIRROR, LEAF = 0.3, 0.05, 0.1, 0.8, 0.15
CASES = {
    "box": ("", 0),
    "box, one wall a mirror": ("right", 0),
    "box, a long wall a mirror": ("back", 0),
    "200 leaves": ("", 200),
    "200 leaves, one wall a mirror": ("right", 200),
    "200 leaves, a long wall a mirror": ("back", 200),
}
"""Which wall is a mirror, if any, and how many leaves there are. The right wall is a short one, at an end of the
lamp; the back wall lies along it."""
PHOTONS, PLAIN_PHOTONS = 1_024, 16_000
"""Of each replicate: enough for an error near 1 %, so that little is extrapolated."""
SAMPLERS = {"mitsuba": "independent", "mitsuba stratified": "multijitter"}
"""Mitsuba's default, and the one of its samplers that serves these scenes best."""
SAMPLES, RENDERS = 256, 12
"""Of each pixel in each of Mitsuba's renders, and how many."""
TURNS = 5
THREADS = 2
WANTED = 0.01
WIDTHS, PLACES = (9, 9, 14, 9, 9, 12, 9), (3, 3, 3, 1, 0, 1, 0)
"""Of the table's columns, and of the figures in them behind the point."""


@dataclass(frozen=True)
class Outcome:
    """Seconds to the wanted error, and the floor's mean with its error [W/m2]."""

    seconds: float
    mean: float
    error: float


def outcome(values: FloatArray, seconds: float) -> Outcome:
    """Return what independent estimates (replicate, receiver), made in so many seconds, are worth."""
    mean = values.mean(axis=0)
    relative = values.std(axis=0, ddof=1) / math.sqrt(len(values)) / mean
    whole = values.mean(axis=1)
    return Outcome(
        seconds=float(np.median(seconds * (relative / WANTED) ** 2)),
        mean=float(whole.mean()),
        error=float(whole.std(ddof=1) / math.sqrt(len(whole))),
    )


def scene_of(mirror: str, leaves: int, lamp: str) -> Scene:
    """Return a case as a scene: box, lamp and, where asked, leaves all over it and a mirror for one wall."""

    def cm(*lengths: float) -> list[str]:
        return [f"{100.0 * length:g} cm" for length in lengths]

    def matt(reflectance: float) -> dict[str, Any]:
        return {"kind": "lambertian", "reflectance": reflectance}

    def placed(value: str | float | tuple[float, ...]) -> str | list[str]:
        if isinstance(value, str):
            return value
        return cm(value)[0] if isinstance(value, float) else cm(*value)

    walls: dict[str, Any] = {"all": matt(WALL), "floor": matt(FLOOR), "ceiling": matt(CEILING)}
    if mirror:
        walls[mirror] = {"kind": "mirror", "reflectance": MIRROR}
    scene: dict[str, Any] = {
        "title": "convergence",
        "enclosure": {"size": cm(*SIZE), "walls": walls},
        "lamps": [
            {
                "name": "lamp",
                **{key: placed(value) for key, value in LAMPS[lamp].items()},
                "body": {"kind": "black"},
                "spectrum": {"lines": [{"at": "310 nm"}]},
                "output": {"radiant": f"{LAMP_WATTS:g} W"},
            }
        ],
        "sensors": [
            {
                "name": "on the floor",
                "kind": "grid",
                "corner": cm(0, 0, 0),
                "edge_u": cm(SIZE[0], 0, 0),
                "edge_v": cm(0, SIZE[1], 0),
                "cells": list(CELLS),
            }
        ],
        "animal": {"reach": []},
    }
    if leaves:
        scene["parts"] = [
            {
                "name": "plant",
                "kind": "plant",
                "corner": cm(0.03, 0.03, 0.03),
                "size": cm(1.14, 0.54, 0.48),
                "leaves": leaves,
                "leaf_size": "6 cm",
                "law": matt(LEAF),
            }
        ]
    return Scene.model_validate(scene)


class Traced:
    """A case in vivray: the floor as a grid of receivers, or as a wall whose photons are counted."""

    def __init__(self, seen: Survey, plain: bool) -> None:
        compiled = compile_scene(seen, only_sensors=True)
        if not plain:
            with ThreadPoolExecutor(max_workers=THREADS) as pool:
                compiled = chosen_ways(compiled, 1, pool)
        self.compiled: CompiledScene = compiled
        self.kind, self.name = ("surface", "floor") if plain else ("sensor", "on the floor")
        self.plain = plain
        self.seed = 0

    def estimate(self, photons: int) -> Outcome:
        """Trace afresh; plain photons without any other ray."""
        compiled, self.seed = self.compiled, self.seed + 1
        tallies = empty_tallies(compiled)
        group = next(group for group in compiled.groups if (group.kind, group.name) == (self.kind, self.name))
        with ThreadPoolExecutor(max_workers=THREADS) as pool:
            started = time.perf_counter()
            tracer = Tracer(compiled, tallies, self.seed, pool, photons_only=self.plain)
            tracer.step(0, photons)
            seconds = time.perf_counter() - started
        area = compiled.area[group.rows]
        if self.plain:
            values = tallies.cells[0][:, group.rows].sum(axis=2) / area / photons
        else:
            rows = slice(group.first - compiled.cells, group.first - compiled.cells + group.count)
            direct = tallies.direct[0][:, rows].sum(axis=2) / tallies.direct_count[0][rows]
            paths = tallies.paths[0][:, rows].sum(axis=2) / np.maximum(1, tallies.path_count[0][rows])
            values = direct + paths + tallies.crossed[0][:, rows].sum(axis=2) / area / photons
        assert len(values) == REPLICATES
        return outcome(values * LAMP_WATTS, seconds)


class Rendered:
    """A case in Mitsuba: the triangles of the compiled scene, a path tracer, a camera just above the floor."""

    def __init__(self, compiled: CompiledScene, mirror: str, sampler: str, folder: Path) -> None:
        import mitsuba as mi

        mi.set_variant("scalar_rgb")
        self._mi, self.seed = mi, 0
        self._scene = mi.load_dict(_twin(mi, compiled, mirror, sampler, folder))

    def estimate(self, renders: int) -> Outcome:
        """Render afresh with another seed each time; a pixel of the floor tells its radiance."""
        images = []
        started = time.perf_counter()
        for _ in range(renders):
            self.seed += 1
            images.append(
                np.array(self._mi.render(self._scene, spp=SAMPLES, seed=self._mi.UInt32(self.seed)))[:, :, 0].ravel()
            )
        seconds = time.perf_counter() - started
        return outcome(np.array(images) * math.pi / FLOOR, seconds)


def _twin(  # its first argument is a module
    mi: Any,  # noqa: ANN401
    compiled: CompiledScene,
    mirror: str,
    sampler: str,
    folder: Path,
) -> dict[str, Any]:
    """Return the scene for Mitsuba, from the very triangles that vivray traces."""
    film = {
        "type": "hdrfilm",
        "width": CELLS[0],
        "height": CELLS[1],
        "pixel_format": "rgb",
        "component_format": "float32",
        "rfilter": {"type": "box"},
    }
    view = mi.ScalarTransform4f().look_at(
        origin=[0.5 * SIZE[0], 0.5 * SIZE[1], 2e-4], target=[0.5 * SIZE[0], 0.5 * SIZE[1], 0.0], up=[0, 1, 0]
    ) @ mi.ScalarTransform4f().scale([0.5 * SIZE[0], 0.5 * SIZE[0], 1.0])
    twin: dict[str, Any] = {
        "type": "scene",
        "integrator": {"type": "path", "max_depth": -1, "rr_depth": 5},
        "sensor": {
            "type": "orthographic",
            "near_clip": 1e-4,
            "far_clip": 1e-2,
            "to_world": view,
            "film": film,
            "sampler": {"type": sampler, "sample_count": SAMPLES},
        },
    }
    reflectances = {"floor": FLOOR, "ceiling": CEILING, "plant": LEAF, "lamp": 0.0}
    for index, name in enumerate(compiled.geometry.names):
        rows = np.flatnonzero(compiled.geometry.face_surface == index)
        faces = compiled.geometry.faces[rows]
        emits = np.array([lamp_of(compiled.model.surfaces, row) != NOTHING for row in rows])
        law: dict[str, Any] = _matt(reflectances.get(name, WALL))
        if name == mirror:
            law = {"type": "conductor", "material": "none", "specular_reflectance": _grey(MIRROR)}
        for part, chosen in (("lit", faces[emits]), ("dark", faces[~emits])):
            if not len(chosen):
                continue
            path = folder / f"{index}-{part}.ply"
            _write_ply(path, compiled.geometry.vertices, chosen)
            shape = {
                "type": "ply",
                "filename": str(path),
                "face_normals": True,
                "bsdf": {"type": "twosided", "in": law},
            }
            if part == "lit":
                radiance = LAMP_WATTS / compiled.model.emitters.area[0] / math.pi
                shape |= {"bsdf": law, "emitter": {"type": "area", "radiance": _grey(radiance)}}
            twin[f"{part} {index}"] = shape
    return twin


def _grey(value: float) -> dict[str, Any]:
    return {"type": "rgb", "value": [value] * 3}


def _matt(reflectance: float) -> dict[str, Any]:
    return {"type": "diffuse", "reflectance": _grey(reflectance)}


def _write_ply(path: Path, vertices: FloatArray, faces: npt.NDArray[np.int64]) -> None:
    from trimesh import Trimesh

    Trimesh(vertices, faces, process=False).export(path)


def measure(case: str, lamp: str, turns: int, scale: float) -> dict[str, Any]:
    """Return one case's row: medians of seconds and ratios over turns of all."""
    mirror, leaves = CASES[case]
    seen = survey(scene_of(mirror, leaves, lamp))
    assert not [finding for finding in seen.findings if finding.severity == "error"], seen.findings
    found: dict[str, list[Outcome]] = {name: [] for name in ("vivray", "plain photons", *SAMPLERS)}
    with tempfile.TemporaryDirectory() as folder:
        ours, plain = Traced(seen, plain=False), Traced(seen, plain=True)
        runs: dict[str, Callable[[], Outcome]] = {
            "vivray": lambda: ours.estimate(max(64, int(PHOTONS * scale))),
            "plain photons": lambda: plain.estimate(max(2048, int(PLAIN_PHOTONS * scale))),
        }
        for name, sampler in SAMPLERS.items():
            theirs = Rendered(ours.compiled, mirror, sampler, Path(folder))
            runs[name] = partial(theirs.estimate, RENDERS if scale >= 1.0 else 2)
        for name in ("vivray", "plain photons"):
            runs[name]()  # compiles, or loads what was compiled
        for _ in range(turns):
            for name, run in runs.items():
                found[name].append(run())
    seconds = {name: statistics.median(turn.seconds for turn in rows) for name, rows in found.items()}
    return {
        "lamp": lamp,
        "case": case,
        "vivray_s": seconds["vivray"],
        "plain_photons_s": seconds["plain photons"],
        "mitsuba_s": seconds["mitsuba"],
        "ratio_mitsuba": _ratio(found["mitsuba"], found["vivray"]),
        "mitsuba_stratified_s": seconds["mitsuba stratified"],
        "ratio_mitsuba_stratified": _ratio(found["mitsuba stratified"], found["vivray"]),
        "share_of_plain": 1.0 / _ratio(found["plain photons"], found["vivray"]),
        "means_W_m2": {name: _pooled(rows) for name, rows in found.items()},
    }


def _ratio(slow: list[Outcome], fast: list[Outcome]) -> float:
    return statistics.median(a.seconds / b.seconds for a, b in zip(slow, fast, strict=True))


def _pooled(rows: list[Outcome]) -> list[float]:
    mean = statistics.fmean(row.mean for row in rows)
    return [mean, math.sqrt(sum(row.error**2 for row in rows)) / len(rows)]


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--case", choices=list(CASES), help="one case alone")
    parser.add_argument("--lamp", choices=list(LAMPS), default="tube", help="tube, or strip lit from below")
    parser.add_argument("--turns", type=int, default=TURNS)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="few photons: shows that it works")
    asked = parser.parse_args()
    chosen = [asked.case] if asked.case else list(CASES)
    turns, scale = (1, 0.02) if asked.quick else (asked.turns, 1.0)
    rows = [measure(case, asked.lamp, turns, scale) for case in chosen]
    if asked.json:
        print(json.dumps({"cases": rows}, indent=1))
        return
    print(
        f"seconds to {WANTED:.0%} per receiver (median of {CELLS[0] * CELLS[1]}), {THREADS} threads, lamp: {asked.lamp}"
    )
    heads = ("vivray", "plain", "vivray/plain", "Mitsuba", "/vivray", "stratified", "/vivray")
    print(f"{'':<34}" + "".join(f"{head:>{width}}" for head, width in zip(heads, WIDTHS, strict=True)) + "  mean, W/m2")
    for row in rows:
        means = "  ".join(f"{mean:.4f}±{error:.4f}" for mean, error in row["means_W_m2"].values())
        keys = ("vivray_s", "plain_photons_s", "share_of_plain")
        keys += ("mitsuba_s", "ratio_mitsuba", "mitsuba_stratified_s", "ratio_mitsuba_stratified")
        cells = zip(keys, WIDTHS, PLACES, strict=True)
        figures = "".join(f"{row[key]:>{width}.{places}f}" for key, width, places in cells)
        print(f"{row['case']:<34}{figures}  {means}")


if __name__ == "__main__":
    main()
