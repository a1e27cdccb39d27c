"""Whole photon histories against Embree's traversal of their segments alone, in a box of two thousand triangles.

``python bench/histories.py`` prints both rates and their ratio, ``--json`` an object: histories per second of one
thread as vivray traces them, emission, scatter and tallies and all, and as many as there would be if shading took no
time and Embree, asked ray by ray in its fast mode, did the traversal. The segments are those of the very photons.
"""

import argparse
import json
import statistics

import numpy as np
from convergence import scene_of
from embree import Embree
from rays import OFFSET, interleaved

from sim.compile import CompiledScene, compile_scene
from sim.scene.check import survey
from sim.simulate.tallies import empty_tallies
from sim.transport.photons import trace_photons
from sim.transport.recorded import record_photons

LEAVES, QUICK_LEAVES = 1_000, 10
PHOTONS, QUICK_PHOTONS = 60_000, 500
REPEATS, QUICK_REPEATS = 9, 2
MOST_CORNERS = 64
"""Segments of a photon are cut off there; none here is as long."""


def segments(compiled: CompiledScene, photons: int) -> tuple[np.ndarray, np.ndarray]:
    """Return origins and unit directions of all segments of photons, in the order in which they are traced."""
    corners, lengths = np.zeros((photons, MOST_CORNERS, 3)), np.zeros(photons, dtype=np.int64)
    record_photons(compiled.model, 0, 0, photons, 1, 10.0, corners, lengths)
    assert lengths.max() < MOST_CORNERS, "no history is cut off"
    way = corners[:, 1:] - corners[:, :-1]
    there = np.arange(1, MOST_CORNERS) < lengths[:, None]
    start, way = corners[:, :-1][there], way[there]
    return start, way / np.linalg.norm(way, axis=1)[:, None]


def measure(leaves: int, photons: int, repeats: int) -> dict[str, float]:
    """Return rates and their ratio, medians of runs in turns."""
    compiled = compile_scene(survey(scene_of(False, leaves, "tube")), plain=True)
    sums = empty_tallies(compiled).of_photons(0, 0)
    origins, towards = segments(compiled, photons)
    single = (origins + OFFSET * towards).astype(np.float32), towards.astype(np.float32)
    found = np.full(len(origins), np.nan, dtype=np.float32), np.zeros(len(origins), dtype=np.uint32)
    native = Embree(compiled.geometry.vertices[compiled.geometry.faces])

    def ours() -> None:
        trace_photons(compiled.model, 0, 0, 0, photons, 1, sums)

    def theirs() -> None:
        native.hits(*single, *found)

    ours()  # compiles, or loads what was compiled
    theirs()
    own, fast = interleaved((ours, theirs), repeats)
    return {
        "triangles": len(compiled.geometry.faces),
        "segments_per_history": len(origins) / photons,
        "vivray_mhistories_s": photons / statistics.median(own) / 1e6,
        "embree_traversal_mhistories_s": photons / statistics.median(fast) / 1e6,
        "ratio": statistics.median(e / o for o, e in zip(own, fast, strict=True)),
    }


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="few photons and triangles: shows that it works")
    asked = parser.parse_args()
    sizes = (QUICK_LEAVES, QUICK_PHOTONS, QUICK_REPEATS) if asked.quick else (LEAVES, PHOTONS, REPEATS)
    found = measure(*sizes)
    if asked.json:
        print(json.dumps({"histories": found}, indent=1))
        return
    line = (
        "{triangles} triangles, {segments_per_history:.2f} segments a history: {vivray_mhistories_s:.3f} million whole"
        " histories a second, {embree_traversal_mhistories_s:.3f} by Embree's traversal alone, ratio {ratio:.2f}"
    )
    print(line.format(**found))


if __name__ == "__main__":
    main()
