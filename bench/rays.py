"""Closest hit of vivray against Embree: the same triangles, the same rays, one thread.

``python bench/rays.py`` prints a table, ``--json`` an object. Absolute rates mean little on shared cores: time is that
of the thread alone, each rate is the median of interleaved runs, and each ratio the median of the ratios of runs next
to each other. Embree is asked ray by ray by a compiled loop, in its fast mode with its best tree (``native``), and by
way of embreex, which drives it with its robust flag.

vivray is asked twice: for many rays, of which two are under way at a time (``next_hits``), and ray by ray, as photons,
paths and rays to lamps of a run still walk (``one by one``).

Path segments start on triangles: vivray is told which, as in its own histories; Embree starts 10 µm in front. Part of
what vivray gains is no skill with vectors but that it tests up to sixteen large triangles, here the walls, before its
tree, and so knows early how far to look; any tracer could. In return it computes each answer in double precision.

``--leaks N`` counts instead how many of N rays leave a closed box, at random and aimed at its edges.
"""

import argparse
import json
import statistics
import time
from collections.abc import Callable

import numpy as np
from embree import NO_HIT, Embree
from embreex.mesh_construction import TriangleMesh
from embreex.rtcore_scene import EmbreeScene
from leaf_box import closed_box, closed_box_with_leaves, directions, lamp_rays, path_segments

from sim.transport.arrays import F64, I64, Tree
from sim.transport.jit import VECTORS, kernel
from sim.transport.tree_build import build_tree, memory_of
from sim.transport.tree_traverse import closest_hit, closest_hits, new_stack, next_hits

TRIANGLES = (12, 2_012, 20_012, 200_012, 1_000_012)
QUICK_TRIANGLES = TRIANGLES[:2]
RAYS, QUICK_RAYS = 200_000, 2_000
REPEATS, QUICK_REPEATS = 9, 2
OFFSET = 1e-5
SAME_HIT = 1e-4
"""Embree works in single precision: distances [m] that agree so far are one hit."""
LEAK_CELLS = 30
LEAK_BATCH = 1_000_000


@kernel
def one_by_one(  # noqa: PLR0913, PLR0917  # compiled functions take arrays, by position
    tree: Tree, origins: F64, towards: F64, leaving: I64, distance: F64, triangle: I64
) -> None:
    """Do what `next_hits` does, one ray after the other."""
    stack = new_stack()
    for row in range(len(origins)):
        distance[row], triangle[row] = closest_hit(tree, origins[row], towards[row], np.inf, stack, leaving[row])


def interleaved(calls: tuple[Callable[[], object], ...], repeats: int) -> list[list[float]]:
    """Return the seconds of this thread that calls take, in turns, so that all meet the same disturbances."""
    seconds: list[list[float]] = [[] for _ in calls]
    for _ in range(repeats):
        for call, found in zip(calls, seconds, strict=True):
            started = time.thread_time()
            call()
            found.append(time.thread_time() - started)
    return seconds


def measure(triangles: int, kind: str, rays: int, repeats: int) -> dict[str, object]:
    """Return rates and ratios for one count of triangles."""
    rng = np.random.Generator(np.random.Philox(20_240_601))
    corners = closed_box_with_leaves(triangles, rng)
    assert len(corners) == triangles, "a box of 12 triangles and two for each leaf"
    tree = build_tree(corners)
    lamp = kind == "lamp"
    origins, towards, leaving = lamp_rays(rays, rng) if lamp else path_segments(rays, rng, corners, tree)
    distance, triangle = np.full(rays, np.nan), np.full(rays, -1)
    scene = EmbreeScene()
    TriangleMesh(scene, corners.astype(np.float32))
    single = (origins + (0.0 if lamp else OFFSET) * towards).astype(np.float32), towards.astype(np.float32)
    native = Embree(corners)
    their_distance, their_triangle = np.full(rays, np.nan, dtype=np.float32), np.zeros(rays, dtype=np.uint32)

    def ours() -> None:
        next_hits(tree, origins, towards, leaving, distance, triangle)

    def single_file() -> None:
        one_by_one(tree, origins, towards, leaving, distance, triangle)

    def theirs() -> None:
        native.hits(*single, their_distance, their_triangle)

    ours()  # compiles, or loads what was compiled
    both = distance.copy(), triangle.copy()
    single_file()
    theirs()
    assert not np.any(np.isnan(both[0])), "every ray has its answer"
    assert np.array_equal(both[0], distance), "walks that take turns find what others do"
    assert np.array_equal(both[1], triangle), "walks that take turns find what others do"
    assert not np.any(np.isnan(their_distance)), "every ray has its answer"
    same = np.abs(their_distance + (0.0 if lamp else OFFSET) - distance) < SAME_HIT
    own, lone, fast, robust = interleaved((ours, single_file, theirs, lambda: scene.run(*single)), repeats)
    return {
        "triangles": triangles,
        "rays": kind,
        "vivray_mrays_s": rays / statistics.median(own) / 1e6,
        "embree_native_mrays_s": rays / statistics.median(fast) / 1e6,
        "embreex_mrays_s": rays / statistics.median(robust) / 1e6,
        "vivray_one_by_one_mrays_s": rays / statistics.median(lone) / 1e6,
        "ratio_native_one_by_one": statistics.median(e / o for o, e in zip(lone, fast, strict=True)),
        "ratio_native": statistics.median(e / o for o, e in zip(own, fast, strict=True)),
        "ratio_embreex": statistics.median(e / o for o, e in zip(own, robust, strict=True)),
        "same_hit": float(same.mean()),
        "bytes_per_triangle": memory_of(tree) / triangles,
    }


def leaks(rays: int) -> list[dict[str, object]]:
    """Return how many rays from inside leave closed boxes, plain and finely tessellated."""
    rng = np.random.Generator(np.random.Philox(7))
    rows = []
    for cells in (1, LEAK_CELLS):
        corners = closed_box(cells)
        tree, fast = build_tree(corners), Embree(corners)
        for aim in ("random", "edges"):
            lost = np.zeros(2, dtype=np.int64)
            for first in range(0, rays, LEAK_BATCH):
                count = min(LEAK_BATCH, rays - first)
                origins = rng.uniform(0.01, 0.99, (count, 3)) * np.array([1.2, 0.6, 0.6])
                towards = directions(count, rng)
                if aim == "edges":
                    row, side = rng.integers(0, len(corners), count), rng.integers(0, 3, count)
                    start, end = corners[row, side], corners[row, (side + 1) % 3]
                    towards = start + rng.random((count, 1)) * (end - start) - origins
                    towards /= np.linalg.norm(towards, axis=1)[:, None]
                distance, triangle = np.full(count, np.nan), np.full(count, -1)
                closest_hits(tree, origins, towards, distance, triangle)
                assert not np.any(np.isnan(distance)), "every ray has its answer"
                theirs = np.full(count, np.nan, dtype=np.float32), np.zeros(count, dtype=np.uint32)
                fast.hits(origins.astype(np.float32), towards.astype(np.float32), *theirs)
                lost += [int((triangle < 0).sum()), int((theirs[1] == NO_HIT).sum())]
            rows.append(
                {
                    "triangles": len(corners),
                    "aim": aim,
                    "rays": rays,
                    "vivray_lost": int(lost[0]),
                    "native_lost": int(lost[1]),
                }
            )
    return rows


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="few rays and triangles: shows that it works, no more")
    parser.add_argument("--rays", choices=("lamp", "path"), default="path", help="from the lamp, or after bounces")
    parser.add_argument("--leaks", type=int, metavar="N", help="count rays that leave a closed box, of N of each kind")
    asked = parser.parse_args()
    if asked.leaks is not None:
        rows = leaks(asked.leaks)
        if asked.json:
            print(json.dumps({"leaks": rows}, indent=1))
            return
        print(f"{'triangles':>10} {'aim':>8} {'rays':>12} {'vivray lost':>12} {'native lost':>12}")
        for row in rows:
            print("{triangles:>10} {aim:>8} {rays:>12} {vivray_lost:>12} {native_lost:>12}".format(**row))
        return
    sizes = QUICK_TRIANGLES if asked.quick else TRIANGLES
    rays, repeats = (QUICK_RAYS, QUICK_REPEATS) if asked.quick else (RAYS, REPEATS)
    rows = [measure(triangles, asked.rays, rays, repeats) for triangles in sizes]
    if asked.json:
        print(json.dumps({"vectors": VECTORS, "closest_hit": rows}, indent=1))
        return
    print(f"closest hit, {asked.rays} rays, one thread, medians of {repeats} interleaved runs of {rays} ({VECTORS})")
    print(
        f"{'triangles':>10} {'vivray':>8} {'native':>8} {'embreex':>8} Mrays/s  vivray/native  /embreex"
        "  one by one, /native  same hit"
    )
    for row in rows:
        print(
            "{triangles:>10} {vivray_mrays_s:>8.3g} {embree_native_mrays_s:>8.3g} {embreex_mrays_s:>8.3g}"
            "{ratio_native:>22.2f} {ratio_embreex:>9.2f}"
            " {vivray_one_by_one_mrays_s:>11.3g} {ratio_native_one_by_one:>8.2f}  {same_hit:>8.3%}".format(**row)
        )


if __name__ == "__main__":
    main()
