"""The graphics card against itself, against Mitsuba, and against the processor.

``python bench/gpu.py`` prints, each as a table, or all as one object with ``--json``:

``hits``: closest hits per second of incoherent rays that lie on the card, for vivray and, where it is installed, for
Mitsuba's ``cuda_ad_rgb``, in turns on the same card. ``leaks``: how many rays leave a closed box, at random and aimed
at its edges. ``agree``: ``vivray run`` of the demo scenes on the card and on the processor, as commands; chi-square and
the largest z-score over all receivers between maps of different random numbers, from the scatter of replicates; what
differs with the same random numbers, and whether a second run on the card has the same bits. ``histories``: photon
histories per second, and seconds of the stages of a run. ``--only`` names some of them.
"""

import argparse
import importlib
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from leaf_box import FloatArray, Rays, closed_box, closed_box_with_leaves, directions, path_segments

from sim.scene.load import load_scene
from sim.simulate import simulate
from sim.tally.result import Result, load_result
from sim.transport.gpu.card import BLOCK, card_hits, launch, on_card
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
LEAST_S = 0.5
"""Rays are repeated for so long at least: a card that was idle takes a while to reach its clock, and eight million rays
among few triangles take it a third of a millisecond."""
OFFSET = 1e-5
LEAK_RAYS, LEAK_CELLS = 4_000_000, (1, 30)
ROOT = Path(__file__).resolve().parents[1]
HISTORIES, QUICK_HISTORIES = 100_000_000, 2_000
AGREE_HISTORIES = 2_000_000
DEMOS = ("dry-ledge", "tall-foliage", "spot-slab")
OTHERS = ("tube-reflectors", "white-box")


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


def closest_hit(triangles: int, count: int, repeats: int, least: float) -> dict[str, object]:
    """Return rates of the card for one count of triangles, from so many repeats and seconds at least."""
    corners, tree, rays = many_rays(count, triangles)
    there = on_card(card_tree(tree))
    sent = [on_card(part) for part in (rays[0].T, rays[1].T, rays[2])]
    distance, triangle = on_card(np.full(count, np.nan)), on_card(np.full(count, -2))

    def ours() -> None:
        launch(hits_kernel, count, *there, *sent, distance, triangle)
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
    started = time.perf_counter()
    while len(seconds["vivray"]) < repeats or time.perf_counter() - started < least:
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


def leaks(cells: int, aim: str, count: int) -> dict[str, object]:
    """Return how many rays leave a closed box whose sides have so many cells along each edge."""
    rng = np.random.Generator(np.random.Philox(7))
    corners = closed_box(cells)
    origins = rng.uniform(0.01, 0.99, (count, 3)) * np.array([1.2, 0.6, 0.6])
    towards = directions(count, rng)
    if aim == "edges":
        row, side = rng.integers(0, len(corners), count), rng.integers(0, 3, count)
        start, end = corners[row, side], corners[row, (side + 1) % 3]
        towards = start + rng.random((count, 1)) * (end - start) - origins
        towards /= np.linalg.norm(towards, axis=1)[:, None]
    distance, triangle = card_hits(build_tree(corners), origins, towards, np.full(count, -1))
    assert not np.any(np.isnan(distance)), "every ray has its answer"
    return {"triangles": len(corners), "aim": aim, "rays": count, "lost": int((triangle < 0).sum())}


def histories(name: str, count: int) -> dict[str, object]:
    """Return what a whole run of a demo scene takes on the card by stages, and its photons alone."""
    from sim.compile import compile_scene
    from sim.scene.check import survey
    from sim.simulate.tallies import REPLICATES
    from sim.transport.gpu.card import MOST_PHOTONS, Card

    row: dict[str, object] = {"scene": name}

    def stage(key: str, call: Callable[[], Any]) -> Any:  # noqa: ANN401  # what a stage makes
        started = time.perf_counter()
        made = call()
        row[key] = time.perf_counter() - started
        return made

    scene = load_scene(ROOT / "scenes" / f"{name}.toml")
    seen = stage("check_s", lambda: survey(scene))
    compiled = stage("arrays_s", lambda: compile_scene(seen))
    card = stage("send_s", lambda: Card(compiled.model, REPLICATES, len(compiled.effort)))
    each = min(MOST_PHOTONS, max(1, count // REPLICATES))
    stage("first_photon_s", lambda: card.photons(0, 0, 1, 1))
    photons = min(timed(lambda: card.photons(0, 0, each, 1)) for _ in range(3))
    inside = min(card.photon_seconds(0, each, 1) for _ in range(3))
    stage("first_run_s", lambda: simulate(scene, histories=100, on_card=True))
    stage("run_s", lambda: simulate(scene, histories=count, on_card=True, threads=os.cpu_count() or 1))
    row["kernel_mhistories_s"] = each * REPLICATES / inside / 1e6
    row["photons_mhistories_s"] = each * REPLICATES / photons / 1e6
    row["run_mhistories_s"] = count / float(str(row["run_s"])) / 1e6
    return row


def command(name: str, count: int, seed: int, device: str) -> tuple[Result, float]:
    """Return the result of ``vivray run`` in a fresh process, and its seconds from call to exit."""
    with tempfile.TemporaryDirectory() as folder:
        asked = "run", f"scenes/{name}.toml", "--device", device, "--histories", str(count), "--seed", str(seed)
        more = "--out", folder, "--no-pictures", "--quiet"
        taken = timed(
            lambda: subprocess.run(
                [sys.executable, "-m", "sim", *asked, *more], cwd=ROOT, check=True, stdout=subprocess.DEVNULL
            )
        )
        return load_result(Path(folder) / "result.npz"), taken


def totals(result: Result) -> tuple[FloatArray, FloatArray]:
    """Return mean and standard error of each receiver's irradiance over all bands and lamps."""
    sums = result.irradiance.astype(np.float64).sum(axis=(2, 3))
    return sums.mean(axis=0), sums.std(axis=0, ddof=1) / np.sqrt(len(sums))


def agreement(name: str, count: int) -> dict[str, object]:
    """Return how far the card's maps of a demo scene are from the processor's."""
    (first, first_s), (same, same_s) = command(name, count, 1, "gpu"), command(name, count, 1, "gpu")
    other, _ = command(name, count, 2, "gpu")
    cpu, cpu_s = command(name, count, 1, "cpu")
    mean, error = totals(cpu)
    other_mean, other_error = totals(other)
    spread = np.hypot(error, other_error)
    lit = spread > 0.0
    z = (other_mean - mean)[lit] / spread[lit]
    same_mean, same_error = totals(same)
    # Where a run of the processor takes links, which a card makes none of, the same numbers do not make the same light.
    shared = np.abs(same_mean - mean)[error > 0.0] / np.hypot(error, same_error)[error > 0.0]
    return {
        "scene": name,
        "histories": cpu.meta.histories,
        "receivers": int(lit.sum()),
        "chi_square_per_receiver": float((z**2).mean()),
        "largest_z": float(np.abs(z).max()),
        "same_numbers_largest_z": float(shared.max()),
        "repeats_bit_by_bit": bool(
            np.array_equal(first.irradiance, same.irradiance)
            and np.array_equal(first.energy.absorbed, same.energy.absorbed)
        ),
        "cpu_s": cpu_s,
        "card_first_s": first_s,
        "card_again_s": same_s,
        "groups": groups(cpu, other),
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


def noted(rows: Iterator[dict[str, object]]) -> Iterator[dict[str, object]]:
    """Yield rows, each told on stderr when it is there."""
    for row in rows:
        print(", ".join(f"{key} {_text(row[key])}" for key in row if key != "groups"), file=sys.stderr, flush=True)
        yield row


def tables(quick: bool) -> dict[str, Iterator[dict[str, object]]]:
    """Return the rows of each table, made when they are asked for."""
    sizes = QUICK_TRIANGLES if quick else TRIANGLES
    rays, repeats, least = (QUICK_RAYS, QUICK_REPEATS, 0.0) if quick else (RAYS, REPEATS, LEAST_S)
    lost, count, agree = (
        (QUICK_RAYS, QUICK_HISTORIES, QUICK_HISTORIES) if quick else (LEAK_RAYS, HISTORIES, AGREE_HISTORIES)
    )
    return {
        "hits": (closest_hit(triangles, rays, repeats, least) for triangles in sizes),
        "leaks": (leaks(cells, aim, lost) for cells in LEAK_CELLS for aim in ("random", "edges")),
        "agree": (agreement(name, agree) for name in DEMOS),
        "histories": (histories(name, count) for name in (*DEMOS, *OTHERS)),
    }


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="few rays and triangles: shows that it works, no more")
    parser.add_argument("--only", action="append", choices=tuple(tables(quick=True)), help="one table; may come again")
    asked = parser.parse_args()
    why = why_no_card()
    if why is not None:
        raise SystemExit(why)
    wanted = {key: rows for key, rows in tables(asked.quick).items() if asked.only is None or key in asked.only}
    if asked.json:
        print(json.dumps({"block": BLOCK} | {key: list(noted(rows)) for key, rows in wanted.items()}, indent=1))
        return
    for key, rows in wanted.items():
        print(f"{key}:")
        show(rows)


if __name__ == "__main__":
    main()
