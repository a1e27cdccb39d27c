"""Closest hit of vivray against Embree by way of embreex: the same triangles, the same rays, one thread.

``python bench/rays.py`` prints a table, ``--json`` an object. Absolute rates mean little on shared cores: each rate is
the median of interleaved runs, and the ratio is the median of the ratios of runs next to each other.

embreex drives Embree with its robust flag. Embree itself in its fast mode is a harder mark that this does not measure.
"""

import argparse
import json
import statistics
import time
from collections.abc import Callable

import numpy as np
import numpy.typing as npt
from embreex.mesh_construction import TriangleMesh
from embreex.rtcore_scene import EmbreeScene

from sim.transport.arrays import Tree
from sim.transport.tree_build import build_tree
from sim.transport.tree_traverse import closest_hits, next_hits

FloatArray = npt.NDArray[np.float64]

ROOM = np.array([1.2, 0.6, 0.6])
LEAF = 0.06
TRIANGLES = (12, 2_012, 20_012, 200_012)
QUICK_TRIANGLES = TRIANGLES[:2]
RAYS, QUICK_RAYS = 200_000, 2_000
BOUNCES = 4
Segments = tuple[FloatArray, ...]
REPEATS, QUICK_REPEATS = 5, 2
SAME_HIT = 1e-4
"""Embree works in single precision: distances [m] that agree so far are one hit."""


def closed_box_with_leaves(triangles: int, rng: np.random.Generator) -> FloatArray:
    """Return the corners of a closed box and of diamond leaves thrown into it at random, (triangles, 3, 3) [m]."""
    x, y, z = ROOM
    corners = np.array([(i, j, k) for i in (0.0, x) for j in (0.0, y) for k in (0.0, z)])
    sides = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    walls = np.array([corners[[a, b, c]] for a, b, c, d in sides] + [corners[[a, c, d]] for a, b, c, d in sides])
    leaves = (triangles - len(walls)) // 2
    middle = rng.uniform(0.5 * LEAF, ROOM - 0.5 * LEAF, (leaves, 3))
    along = directions(leaves, rng)
    across = np.cross(along, directions(leaves, rng))
    across /= np.linalg.norm(across, axis=1)[:, None]
    tip, side = 0.5 * LEAF * along, 0.25 * LEAF * across
    left = np.stack([middle - tip, middle + side, middle + tip], axis=1)
    right = np.stack([middle - tip, middle + tip, middle - side], axis=1)
    return np.concatenate([walls, left, right])


def directions(count: int, rng: np.random.Generator) -> FloatArray:
    """Return directions that are uniform over the sphere, (count, 3)."""
    vectors = rng.standard_normal((count, 3))
    units: FloatArray = vectors / np.linalg.norm(vectors, axis=1)[:, None]
    return units


def lamp_rays(count: int, rng: np.random.Generator) -> tuple[FloatArray, FloatArray]:
    """Return origins on a tube under the ceiling [m] and directions, (count, 3) each."""
    origins = np.array([0.3, 0.29, 0.54]) + rng.random((count, 3)) * np.array([0.6, 0.02, 0.02])
    return origins, directions(count, rng)


def path_segments(count: int, rng: np.random.Generator, corners: FloatArray, tree: Tree) -> Segments:
    """Return the later segments of histories whose light is scattered to the side it came from."""
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    histories = count // BOUNCES
    origins, towards = lamp_rays(histories, rng)
    leaving = np.full(histories, -1)
    found = []
    for _ in range(BOUNCES):
        distance, triangle = np.full(histories, np.nan), np.full(histories, -1)
        next_hits(tree, origins, towards, leaving, distance, triangle)
        origins = origins + distance[:, None] * towards
        side = -np.sign(np.einsum("ij,ij->i", normals[triangle], towards))[:, None] * normals[triangle]
        towards = directions(histories, rng)
        towards *= np.sign(np.einsum("ij,ij->i", side, towards))[:, None]
        leaving = triangle
        found.append((origins, towards, leaving))
    mixed = rng.permutation(histories * BOUNCES)
    return tuple(np.concatenate(part)[mixed] for part in zip(*found, strict=True))


def interleaved(first: Callable[[], object], second: Callable[[], object], repeats: int) -> tuple[list[float], ...]:
    """Return the seconds that two calls take, in turns, so that both meet the same disturbances."""
    seconds: tuple[list[float], list[float]] = ([], [])
    for _ in range(repeats):
        for call, found in zip((first, second), seconds, strict=True):
            started = time.perf_counter()
            call()
            found.append(time.perf_counter() - started)
    return seconds


def measure(triangles: int, kind: str, rays: int, repeats: int) -> dict[str, object]:
    """Return rates and ratios for one count of triangles."""
    rng = np.random.Generator(np.random.Philox(20_240_601))
    corners = closed_box_with_leaves(triangles, rng)
    assert len(corners) == triangles, "a box of 12 triangles and two for each leaf"
    tree = build_tree(corners)
    origins, towards = lamp_rays(rays, rng) if kind == "lamp" else path_rays(rays, rng, tree)
    distance, triangle = np.full(rays, np.inf), np.full(rays, -1)
    scene = EmbreeScene()
    TriangleMesh(scene, corners.astype(np.float32))
    single = origins.astype(np.float32), towards.astype(np.float32)

    def ours() -> None:
        closest_hits(tree, origins, towards, distance, triangle)

    def theirs() -> object:
        return scene.run(*single)

    ours()  # compiles, or loads what was compiled
    theirs()
    same = np.abs(scene.run(*single, query="DISTANCE") - distance) < SAME_HIT
    own, embree = interleaved(ours, theirs, repeats)
    return {
        "triangles": triangles,
        "rays": kind,
        "vivray_mrays_s": rays / statistics.median(own) / 1e6,
        "embreex_mrays_s": rays / statistics.median(embree) / 1e6,
        "ratio_embreex": statistics.median(e / o for o, e in zip(own, embree, strict=True)),
        "embree_native_mrays_s": None,  # nothing here drives it yet
        "ratio_native": None,
        "same_hit": float(same.mean()),
    }


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="few rays and triangles: shows that it works, no more")
    parser.add_argument("--rays", choices=("lamp", "path"), default="lamp", help="from the lamp, or after a bounce")
    asked = parser.parse_args()
    sizes = QUICK_TRIANGLES if asked.quick else TRIANGLES
    rays, repeats = (QUICK_RAYS, QUICK_REPEATS) if asked.quick else (RAYS, REPEATS)
    rows = [measure(triangles, asked.rays, rays, repeats) for triangles in sizes]
    if asked.json:
        print(json.dumps({"closest_hit": rows}, indent=1))
        return
    print(f"closest hit, {asked.rays} rays, one thread, medians of {repeats} interleaved runs of {rays} rays")
    print(f"{'triangles':>10} {'vivray':>8} {'embreex':>8}  Mrays/s   {'ratio':>6}   same hit")
    for row in rows:
        print(
            f"{row['triangles']:>10} {row['vivray_mrays_s']:>8.3g} {row['embreex_mrays_s']:>8.3g}"
            f"{row['ratio_embreex']:>18.2f}   {100 * float(str(row['same_hit'])):.3f} %"
        )


if __name__ == "__main__":
    main()
