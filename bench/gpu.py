"""The graphics card against itself, against Mitsuba, and against the processor.

``python bench/gpu.py`` prints closest hits per second of incoherent rays that lie on the card, for vivray and, where it
is installed, for Mitsuba's ``cuda_ad_rgb``, in turns on the same card; then photon histories per second and whole runs
of the demo scenes. ``--agree`` compares maps of the card and of the processor instead, from different random numbers:
chi-square and the largest z-score over all receivers, from the scatter of replicates; and what differs with the same
random numbers. ``--json`` prints an object.
"""

import argparse
import importlib
import json
import os
import statistics
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from leaf_box import FloatArray, Rays, closed_box_with_leaves, path_segments

from sim.scene.load import load_scene
from sim.simulate import simulate
from sim.tally.result import Result
from sim.transport.gpu.card import BLOCK, launch, on_card
from sim.transport.gpu.kernels import hits_kernel
from sim.transport.gpu.present import why_no_card
from sim.transport.gpu.target import cuda
from sim.transport.gpu.tree import card_tree
from sim.transport.tree_build import build_tree
from sim.transport.tree_traverse import next_hits

TRIANGLES = (12, 2_012, 20_012, 200_012, 1_000_012)
QUICK_TRIANGLES = TRIANGLES[:2]
DIFFERENT, RAYS, QUICK_RAYS = 1_000_000, 8_000_000, 2_000
"""Rays are told apart up to the first; more are copies of these, in another order."""
REPEATS, QUICK_REPEATS = 9, 2
OFFSET = 1e-5
SCENES = Path(__file__).resolve().parents[1] / "scenes"
HISTORIES, QUICK_HISTORIES = 100_000_000, 2_000
AGREE_HISTORIES = 2_000_000
DEMOS = ("dry-ledge", "tall-foliage", "spot-slab", "tube-reflectors", "white-box")


def timed(call: Callable[[], object]) -> float:
    """Return the seconds of a call."""
    started = time.perf_counter()
    call()
    return time.perf_counter() - started


def many_rays(count: int, triangles: int) -> tuple[FloatArray, Any, Rays]:
    """Return corners and tree of the box of leaves, and rays through it in a random order."""
    rng = np.random.Generator(np.random.Philox(20_240_601))
    corners = closed_box_with_leaves(triangles, rng)
    tree = build_tree(corners)
    few = path_segments(min(count, DIFFERENT), rng, corners, tree)
    rows = rng.permutation(np.arange(count) % len(few[0]))
    return corners, tree, (few[0][rows], few[1][rows], few[2][rows])


def mitsuba_call(corners: FloatArray, rays: Rays) -> Callable[[], Any] | None:
    """Return what asks Mitsuba for the closest hits of rays on the card, or None without it."""
    try:
        mitsuba = importlib.import_module("mitsuba")
        drjit = importlib.import_module("drjit")
        mitsuba.set_variant("cuda_ad_rgb")
        mesh = mitsuba.Mesh("leaves", 3 * len(corners), len(corners))
        changed = mitsuba.traverse(mesh)
        changed["vertex_positions"] = corners.astype(np.float32).ravel()
        changed["faces"] = np.arange(3 * len(corners), dtype=np.uint32)
        changed.update()
        scene = mitsuba.load_dict({"type": "scene", "mesh": mesh})
    except (ImportError, RuntimeError) as error:
        print(f"no Mitsuba: {error}")
        return None
    origins, towards, _ = rays
    start = mitsuba.Point3f((origins + OFFSET * towards).astype(np.float32).T)
    way = mitsuba.Vector3f(towards.astype(np.float32).T)
    drjit.eval(start, way)

    def call() -> Any:  # noqa: ANN401  # Mitsuba's own kind of array
        found = scene.ray_intersect_preliminary(mitsuba.Ray3f(start, way), False)
        drjit.eval(found.t, found.prim_index)
        drjit.sync_thread()
        return found

    return call


def closest_hit(triangles: int, count: int, repeats: int) -> dict[str, object]:
    """Return rates of the card for one count of triangles."""
    corners, tree, rays = many_rays(count, triangles)
    there = on_card(card_tree(tree))
    sent = [on_card(part) for part in (rays[0].T, rays[1].T, rays[2])]
    distance, triangle = on_card(np.full(count, np.nan)), on_card(np.full(count, -2))

    def ours() -> None:
        launch(hits_kernel, count, there, *sent, distance, triangle)
        cuda.synchronize()

    theirs = mitsuba_call(corners, rays)
    ours()
    found_distance, found = distance.copy_to_host(), triangle.copy_to_host()
    assert not np.any(np.isnan(found_distance)), "every ray has its answer"
    checked = min(count, DIFFERENT)
    expected = np.full(checked, np.nan), np.full(checked, -2)
    next_hits(tree, *(np.ascontiguousarray(part[:checked]) for part in rays), *expected)
    row: dict[str, object] = {
        "triangles": triangles,
        "same_triangle": float((found[:checked] == expected[1]).mean()),
        "largest_difference_m": float(np.abs(found_distance[:checked] - expected[0]).max()),
    }
    seconds: dict[str, list[float]] = {"vivray": [], "mitsuba": []}
    for _ in range(repeats):
        seconds["vivray"].append(timed(ours))
        if theirs is not None:
            theirs()
            seconds["mitsuba"].append(timed(theirs))
            ours()
    row["vivray_mrays_s"] = count / statistics.median(seconds["vivray"]) / 1e6
    if theirs is not None:
        hit = np.abs(np.array(theirs().t) + OFFSET - found_distance) < 1e-4
        row["mitsuba_mrays_s"] = count / statistics.median(seconds["mitsuba"]) / 1e6
        row["ratio"] = statistics.median(
            other / own for own, other in zip(seconds["vivray"], seconds["mitsuba"], strict=True)
        )
        row["same_hit_as_mitsuba"] = float(hit.mean())
    return row


def histories(name: str, count: int) -> dict[str, object]:
    """Return what a whole run of a demo scene takes on the card, and its photons alone."""
    from sim.compile import compile_scene
    from sim.scene.check import survey
    from sim.simulate.tallies import REPLICATES
    from sim.transport.gpu.card import MOST_PHOTONS, Card

    scene = load_scene(SCENES / f"{name}.toml")
    compiled = compile_scene(survey(scene))
    card = Card(compiled.model, REPLICATES, len(compiled.effort))
    each = min(MOST_PHOTONS, max(1, count // REPLICATES))
    first = timed(lambda: card.photons(0, 0, each, 1))
    photons = min(timed(lambda: card.photons(0, 0, each, 1)) for _ in range(3))
    inside = min(card.photon_seconds(0, each, 1) for _ in range(3))
    simulate(scene, histories=100, on_card=True)
    whole = timed(lambda: simulate(scene, histories=count, on_card=True, threads=os.cpu_count() or 1))
    return {
        "scene": name,
        "first_s": first,
        "kernel_mhistories_s": each * REPLICATES / inside / 1e6,
        "photons_mhistories_s": each * REPLICATES / photons / 1e6,
        "run_mhistories_s": count / whole / 1e6,
        "run_s": whole,
    }


def totals(result: Result) -> tuple[FloatArray, FloatArray]:
    """Return mean and standard error of each receiver's irradiance over all bands and lamps."""
    sums = result.irradiance.astype(np.float64).sum(axis=(2, 3))
    return sums.mean(axis=0), sums.std(axis=0, ddof=1) / np.sqrt(len(sums))


def agreement(name: str, count: int) -> dict[str, object]:
    """Return how far the card's maps of a demo scene are from the processor's."""
    scene = load_scene(SCENES / f"{name}.toml")
    seconds: dict[str, float] = {}
    results: dict[str, Result] = {}
    for key, seed, card in (("cpu", 1, False), ("same", 1, True), ("again", 1, True), ("card", 2, True)):
        started = time.perf_counter()
        results[key] = simulate(scene, histories=count, seed=seed, threads=os.cpu_count() or 1, on_card=card)
        seconds[key] = time.perf_counter() - started
    mean, error = totals(results["cpu"])
    other, other_error = totals(results["card"])
    same, _ = totals(results["same"])
    spread = np.hypot(error, other_error)
    lit = spread > 0.0
    z = (other - mean)[lit] / spread[lit]
    shared = np.abs(same - mean)[error > 0.0] / error[error > 0.0]
    return {
        "scene": name,
        "histories": results["cpu"].meta.histories,
        "receivers": int(lit.sum()),
        "chi_square_per_receiver": float((z**2).mean()),
        "largest_z": float(np.abs(z).max()),
        "same_numbers_largest_z": float(shared.max()),
        "repeats_bit_by_bit": bool(
            np.array_equal(results["same"].irradiance, results["again"].irradiance)
            and np.array_equal(results["same"].energy.absorbed, results["again"].energy.absorbed)
        ),
        "cpu_s": seconds["cpu"],
        "card_s": seconds["again"],
        "groups": groups(results["cpu"], results["card"]),
    }


def groups(one: Result, other: Result) -> list[dict[str, object]]:
    """Return z-score of each group's mean and chi-square of its receivers."""
    rows: list[dict[str, object]] = []
    for group in one.groups:
        found = []
        for result in (one, other):
            sums = result.irradiance[:, group.rows].astype(np.float64).sum(axis=(2, 3)).mean(axis=1)
            found.append((sums.mean(), sums.var(ddof=1) / len(sums)))
        variance = found[0][1] + found[1][1]
        z = (found[1][0] - found[0][0]) / np.sqrt(variance) if variance > 0.0 else 0.0
        rows.append({"kind": group.kind, "name": group.name, "z": float(z), "mean": float(found[0][0])})
    return rows


def show(rows: Iterator[dict[str, object]]) -> None:
    """Print rows as a table, each when it is there."""
    keys: list[str] = []
    for row in rows:
        if not keys:
            keys = [key for key in row if key != "groups"]
            print("  ".join(f"{key:>15}" for key in keys))
        print("  ".join(f"{_text(row.get(key)):>{max(15, len(key))}}" for key in keys), flush=True)


def _text(value: object) -> str:
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="few rays and triangles: shows that it works, no more")
    parser.add_argument("--agree", action="store_true", help="compare maps with the processor's instead")
    asked = parser.parse_args()
    why = why_no_card()
    if why is not None:
        raise SystemExit(why)
    tables: dict[str, Iterator[dict[str, object]]]
    if asked.agree:
        count = QUICK_HISTORIES if asked.quick else AGREE_HISTORIES
        tables = {"agreement": (agreement(name, count) for name in DEMOS)}
    else:
        sizes = QUICK_TRIANGLES if asked.quick else TRIANGLES
        rays, repeats = (QUICK_RAYS, QUICK_REPEATS) if asked.quick else (RAYS, REPEATS)
        count = QUICK_HISTORIES if asked.quick else HISTORIES
        tables = {
            "closest_hit": (closest_hit(triangles, rays, repeats) for triangles in sizes),
            "histories": (histories(name, count) for name in DEMOS),
        }
    if asked.json:
        print(json.dumps({"block": BLOCK} | {key: list(rows) for key, rows in tables.items()}, indent=1))
        return
    for rows in tables.values():
        show(rows)


if __name__ == "__main__":
    main()
