"""Time and memory against the size of a scene: triangles of the tree, lamps, receivers, bands.

``python bench/scale.py`` prints a table, ``--json`` an object. Time is that of the thread alone, the median of a few
runs. Triangles: the box with leaves of ``bench/rays.py``, which grows denser: rays end sooner, among more leaves that
overlap. Cuts: the box with a thousand leaves, each cut finer and finer, as a mesh is. Visits are the nodes and leaves
that a ray meets on its way: the cost were all memory equally near, while time tells of caches, too. So there is also
the time of a ray that is traced again right after a few others, when the processor has what it meets at hand, and a
fetch: the time that this machine takes for a number at random from as much memory as the tree's, asked for when the one
before is there. Photons: whole histories from a tube among leaves cut like that, which are read from a mesh file, as a
run traces them, and all memory that the scene's model has for each triangle. Files: what a mesh costs before it is
traced. The rest: a box of ours with one of its counts turned up.
"""

import argparse
import json
import statistics
import tempfile
import time
import tomllib
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import trimesh
from convergence import scene_of
from leaf_box import closed_box_with_leaves, cut, path_segments

from sim.compile import CompiledScene, compile_scene
from sim.furniture.imported import LONGEST_EDGE, Imported, read_mesh
from sim.geometry.patches import patches, split_to_size
from sim.geometry.solids import sphere
from sim.scene.check import survey
from sim.scene.model import Scene
from sim.simulate.tallies import empty_tallies
from sim.transport.arrays import F64, I64, Tree
from sim.transport.jit import kernel
from sim.transport.photons import trace_photons
from sim.transport.tree_build import build_tree, memory_of
from sim.transport.tree_traverse import ENDED, new_stack, next_hits, set_out, step

TRIANGLES, QUICK_TRIANGLES = (2_012, 20_012, 200_012, 1_000_012), (2_012,)
CUTS, QUICK_CUTS, WALLS, LEAVES = (1, 3, 10, 22), (1, 3), 12, 1_000
LEVELS, QUICK_LEVELS, RECEIVER_M = (4, 6, 8), (2,), 0.0375
LAMPS, RECEIVERS_CM, BANDS = (1, 4, 16), (20, 5, 1), ("150 nm", "30 nm", "5 nm")
RAYS, PHOTONS, QUICK = 100_000, 30_000, 1_000
REPEATS = 3
LINE, FETCHES = 64, 100_000
"""Bytes that a processor fetches at once, and fetches that are timed."""
AT_HAND = 64
"""So many rays are traced, and then again: too few to push out of the nearer caches what they have met."""

SCENE = """
title = "A box whose counts are turned up"
[enclosure]
size = ["120 cm", "60 cm", "60 cm"]
walls = {{ all = {{ kind = "lambertian", reflectance = 0.5 }} }}
[run]
receiver_size = "{receiver_cm} cm"
bands = "{band}"
"""
LAMP = """
[[lamps]]
name = "lamp {number}"
kind = "panel"
corner = ["{x} cm", "20 cm", "50 cm"]
edge_u = ["0 cm", "5 cm", "0 cm"]
edge_v = ["5 cm", "0 cm", "0 cm"]
body = "black"
spectrum = {{ lines = [{{ at = "300 nm", weight = 1.0 }}, {{ at = "390 nm", weight = 1.0 }}] }}
output = {{ radiant = "1 W" }}
"""


def seconds(call: Callable[[], object]) -> float:
    """Return the median time of this thread in a call, after one that compiles."""
    call()
    taken = []
    for _ in range(REPEATS):
        started = time.thread_time()
        call()
        taken.append(time.thread_time() - started)
    return statistics.median(taken)


@kernel
def count_visits(tree: Tree, origins: F64, towards: F64, leaving: I64, visits: I64) -> None:
    """Count the nodes and leaves that rays meet: what a walk costs, were all memory equally near."""
    stack = new_stack()
    for row in range(len(origins)):
        top = set_out(tree, origins[row], towards[row], np.inf, stack, leaving[row])
        while top != ENDED:
            top = step(tree, stack, top)
            visits[0] += 1


@kernel
def follow(following: I64, steps: int, end: I64) -> None:
    """Go from place to place, each told by the one before."""
    place = 0
    for _ in range(steps):
        place = following[place]
    end[0] = place


def fetch_ns(memory: int) -> float:
    """Return the time of one fetch [ns] from a ring through all lines of so many bytes, in a random order."""
    order = np.random.Generator(np.random.Philox(5)).permutation(max(2, memory // LINE))
    following, end = np.zeros(len(order) * LINE // 8, dtype=np.int64), np.zeros(1, dtype=np.int64)
    following[order * (LINE // 8)] = np.roll(order, -1) * (LINE // 8)
    return 1e9 * seconds(lambda: follow(following, FETCHES, end)) / FETCHES


def ray_ns(tree: Tree, origins: F64, towards: F64, leaving: I64) -> tuple[float, float]:
    """Return the time of a ray [ns], and that of one that is traced again when memory is at hand."""
    rays = np.arange(len(origins))
    twice = np.concatenate([np.tile(few, 2) for few in np.array_split(rays, -(-len(rays) // AT_HAND))])
    taken = []
    for rows in (rays, twice):
        asked = origins[rows], towards[rows], leaving[rows]
        found = np.full(len(rows), np.nan), np.full(len(rows), -1)
        taken.append(seconds(partial(next_hits, tree, *asked, *found)))
        assert not np.any(np.isnan(found[0])), "every ray has its answer"
    return 1e9 * taken[0] / len(rays), 1e9 * (taken[1] - taken[0]) / len(rays)


def of_triangles(triangles: int, rays: int, parts: int = 0) -> dict[str, object]:
    """Return time to build, time of a ray and memory of one tree, over leaves in `parts` squared pieces if any."""
    rng = np.random.Generator(np.random.Philox(3))
    corners = closed_box_with_leaves(triangles, rng)
    if parts:
        corners = np.concatenate([corners[:WALLS], cut(corners[WALLS:], parts)])
    tree = build_tree(corners)
    origins, towards, leaving = path_segments(rays, rng, corners, tree)
    visits = np.zeros(1, dtype=np.int64)
    count_visits(tree, origins, towards, leaving, visits)
    memory = memory_of(tree)
    once, again = ray_ns(tree, origins, towards, leaving)
    return {
        "what": "cuts" if parts else "triangles",
        "count": len(corners),
        "build_s": seconds(lambda: build_tree(corners)),
        "ns_per_ray": once,
        "ns_per_ray_at_hand": again,
        "visits_per_ray": int(visits[0]) / rays,
        "ns_per_fetch": fetch_ns(memory),
        "bytes_per_triangle": memory / len(corners),
    }


def traced_seconds(compiled: CompiledScene, photons: int) -> float:
    """Return the median time in which one thread traces photons of the first lamp."""
    sums = empty_tallies(compiled).of_photons(0, 0)
    return seconds(lambda: trace_photons(compiled.model, 0, 0, 0, photons, 1, sums))


def of_photons(parts: int, photons: int) -> dict[str, object]:
    """Return time of a photon and memory of a model whose plant has `parts` squared pieces of each of its triangles."""
    scene = scene_of("", LEAVES, "tube")
    (plant,) = (surface.mesh for surface in survey(scene).surfaces if surface.name == "plant")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plant.stl"
        trimesh.Trimesh(**trimesh.triangles.to_kwargs(cut(plant.corners, parts)), process=False).export(path)
        law = scene.parts[0].law
        leaves = {"name": "plant", "kind": "mesh", "file": str(path), "unit": "m", "law": law}
        compiled = compile_scene(survey(scene.model_copy(update={"parts": (Imported.model_validate(leaves),)})))
    count = len(compiled.geometry.faces)
    grows = [part for part in compiled.model.surfaces if len(part) >= count and part.dtype != np.int32]
    memory = memory_of(compiled.model.tree) + sum(part.nbytes for part in grows)
    return {
        "what": "photons",
        "count": count,
        "ns_per_photon": 1e9 * traced_seconds(compiled, photons) / photons,
        "model_bytes_per_triangle": memory / count,
    }


def of_file(level: int) -> dict[str, object]:
    """Return the time until a mesh file is read, checked and parted into receivers: a sphere, as a binary STL."""
    mesh = sphere(np.zeros(3), 0.1, level)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sphere.stl"
        trimesh.Trimesh(mesh.vertices, mesh.faces, process=False).export(path)

        def ready() -> None:
            path.touch()  # what was read of a file that has changed since is read anew
            found = split_to_size(read_mesh(path, "m").mesh, LONGEST_EDGE * RECEIVER_M)
            patches(found, RECEIVER_M)

        taken = seconds(ready)
    return {
        "what": "files",
        "count": len(mesh.faces),
        "ready_s": taken,
        "us_per_triangle": 1e6 * taken / len(mesh.faces),
    }


def of_scene(what: str, photons: int, lamps: int = 1, receiver_cm: int = 20, band: str = "150 nm") -> dict[str, object]:
    """Return time of a photon and memory of the sums of a box."""
    text = SCENE.format(receiver_cm=receiver_cm, band=band)
    text += "".join(LAMP.format(number=number, x=5 + 7 * number) for number in range(lamps))
    compiled = compile_scene(survey(Scene.model_validate(tomllib.loads(text))))
    taken = traced_seconds(compiled, photons)
    counts = {"lamps": lamps, "receivers": len(compiled.area), "bands": len(compiled.edges_nm) - 1}
    memory = sum(part.nbytes for part in vars(empty_tallies(compiled)).values() if isinstance(part, np.ndarray))
    return {"what": what, "count": counts[what], "ns_per_photon": 1e9 * taken / photons, "sums_MB": memory / 1e6}


def measure(quick: bool) -> list[dict[str, object]]:
    """Return a row for each size of each count."""
    rays, photons = (QUICK, QUICK) if quick else (RAYS, PHOTONS)
    rows = [of_triangles(count, rays) for count in (QUICK_TRIANGLES if quick else TRIANGLES)]
    rows += [of_triangles(QUICK_TRIANGLES[0], rays, parts) for parts in (QUICK_CUTS if quick else CUTS)]
    rows += [of_photons(parts, photons) for parts in (QUICK_CUTS if quick else CUTS)]
    rows += [of_file(level) for level in (QUICK_LEVELS if quick else LEVELS)]
    few = 2 if quick else 3
    rows += [of_scene("lamps", photons, lamps=count) for count in LAMPS[:few]]
    rows += [of_scene("receivers", photons, receiver_cm=size) for size in RECEIVERS_CM[:few]]
    return rows + [of_scene("bands", photons, band=width) for width in BANDS[:few]]


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="few sizes and rays: shows that it works, no more")
    asked = parser.parse_args()
    rows = measure(asked.quick)
    if asked.json:
        print(json.dumps({"scale": rows}, indent=1))
        return
    for row in rows:
        rest = "  ".join(f"{key} {value:.4g}" for key, value in row.items() if isinstance(value, float))
        print(f"{row['what']:<10} {row['count']:>9}  {rest}")


if __name__ == "__main__":
    main()
