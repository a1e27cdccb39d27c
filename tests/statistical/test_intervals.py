"""The 95 % interval covers the truth 95 % of the time; errors are honest and fall as one over the root of the count."""

import tomllib
from functools import cache

import numpy as np
import pytest
from scipy.stats import chi2, norm, t

from sim.analysis.energy import power_budget
from sim.analysis.maps import Maps
from sim.scene.model import Scene
from sim.simulate.run import simulate
from sim.simulate.stop_rule import largest_error
from sim.simulate.tallies import REPLICATES
from sim.tally.result import Result
from sim.tally.statistics import estimate
from sim.transport.arrays import F64
from tests.support.polygon_light import from_convex_lamp, mean_over
from tests.support.setups import Setup, by_paths, group_values, setup_of, with_links
from tests.support.wall_planes import WALLS, wall_planes

SEEDS = 200
COVERED = range(181, 198)
"""Of 200 seeds: 99 % of binomial draws at 0.95 lie in it."""
PHOTONS = 64
"""Of a lamp in each replicate: as few as that, the interval must hold."""

ASKED = 1e-3
"""Relative error at which runs end; it takes them two to four looks."""

TUBE = """
title = "A tube over a point, a plane and a zone, in black"
[enclosure]
size = ["80 cm", "60 cm", "60 cm"]
walls = { all = "black" }
[[lamps]]
name = "tube"
kind = "tube"
from = ["20 cm", "30 cm", "50 cm"]
to = ["70 cm", "30 cm", "50 cm"]
radius = "13 mm"
spectrum = { lines = [{ at = "313 nm", weight = 1.0 }] }
output = { radiant = "2 W" }
[[sensors]]
name = "point"
kind = "point"
at = ["50 cm", "22 cm", "20 cm"]
normal = [0.0, 0.0, 1.0]
[[zones]]
name = "zone"
role = "basking"
surface = "floor"
region = [["20 cm", "10 cm"], ["60 cm", "50 cm"]]
height = "5 cm"
[animal]
reach = []
[run]
receiver_size = "20 cm"
"""
GRID = """
[[sensors]]
name = "grid"
kind = "grid"
corner = ["10 cm", "10 cm", "10 cm"]
edge_u = ["60 cm", "0 cm", "0 cm"]
edge_v = ["0 cm", "40 cm", "0 cm"]
cells = [6, 4]
"""

BOX = """
title = "A closed grey box, its walls measured by planes that lie on them"
[enclosure]
size = ["100 cm", "60 cm", "50 cm"]
walls = { all = { kind = "lambertian", reflectance = 0.5 } }
[[lamps]]
name = "tube"
kind = "tube"
from = ["20 cm", "20 cm", "35 cm"]
to = ["70 cm", "30 cm", "35 cm"]
radius = "2 cm"
facing = [0.0, 0.0, -1.0]
body = { kind = "lambertian", reflectance = 1.0 }
spectrum = { lines = [{ at = "313 nm", weight = 1.0 }] }
output = { radiant = "3 W" }
[animal]
reach = []
[run]
receiver_size = "20 cm"
"""
SIZE = (1.0, 0.6, 0.5)


@cache
def tube() -> Setup:
    return setup_of(TUBE)


@cache
def box() -> Setup:
    return setup_of(BOX + wall_planes(SIZE))


@cache
def tube_runs() -> list[Result]:
    return [tube().result(PHOTONS, seed) for seed in range(SEEDS)]


@cache
def box_runs() -> list[Result]:
    return [box().result(PHOTONS, seed) for seed in range(SEEDS)]


@cache
def path_runs() -> list[Result]:
    setup = by_paths(box())
    return [setup.result(PHOTONS, seed) for seed in range(SEEDS)]


def covered(values: list[F64], truth: float) -> int:
    """How many runs' intervals hold the truth; values are by replicate."""
    estimates = [estimate(one) for one in values]
    return sum(abs(float(one.mean) - truth) <= float(one.half_width) for one in estimates)


def test_straight_light_at_a_point() -> None:
    """Truth by Lambert's formula for the faces of the tube."""
    up = np.array([0.0, 0.0, 1.0])
    truth = from_convex_lamp(tube().seen.lamps["tube"], 2.0, np.array([0.5, 0.22, 0.2]), up)
    values = [group_values(run, "sensor", "point").sum(axis=(1, 2)) for run in tube_runs()]
    assert covered(values, truth) in COVERED


def zone_truth() -> float:
    """Lambert's formula for the faces of the tube, averaged over the zone; UV index by CIE S 007/E:1998 at 313 nm."""
    origin, u, v = np.array([0.2, 0.1, 0.05]), np.array([0.4, 0.0, 0.0]), np.array([0.0, 0.4, 0.0])
    return 40.0 * 10 ** (0.094 * (298.0 - 313.0)) * mean_over(tube().seen.lamps["tube"], 2.0, origin, u, v, nodes=16)


def zone_index(run: Result) -> F64:
    """UV index of the zone, by replicate."""
    maps = Maps(run)
    return maps.mean_over(run.group("zone", "zone"), maps.uvi)


def test_mean_uv_index_of_a_zone() -> None:
    assert covered([zone_index(run) for run in tube_runs()], zone_truth()) in COVERED


def test_runs_that_end_at_the_error_asked_for() -> None:
    """Luck that makes the error look small ends a run sooner, but not so often that intervals fall short."""
    lamp, zone = TUBE.split("[[sensors]]")[0], TUBE.split("[[zones]]")[1]
    scene = Scene.model_validate(tomllib.loads(f"{lamp}[[zones]]{zone}"))
    runs = [simulate(scene, error=ASKED, seed=seed) for seed in range(SEEDS)]
    assert len({run.meta.histories for run in runs}) > 5, "each ends by what it saw"
    assert all(largest_error(run) <= ASKED for run in runs)
    assert covered([zone_index(run) for run in runs], zone_truth()) in COVERED


def test_photons_on_a_wall() -> None:
    """Truth as above, averaged over the black floor; each photon is counted once."""
    shape = tube().seen.lamps["tube"]
    edges = np.array([0.0, 0.0, 0.0]), np.array([0.8, 0.0, 0.0]), np.array([0.0, 0.6, 0.0])
    truth = mean_over(shape, 2.0, *edges, nodes=16)
    values = [group_values(run, "surface", "floor").sum(axis=(1, 2)) for run in tube_runs()]
    assert covered(values, truth) in COVERED


def test_power_and_share_that_the_floor_absorbs() -> None:
    """Truth as above: the black floor keeps all that it gets, of a lamp of 2 W."""
    edges = np.array([0.0, 0.0, 0.0]), np.array([0.8, 0.0, 0.0]), np.array([0.0, 0.6, 0.0])
    truth = 0.48 * mean_over(tube().seen.lamps["tube"], 2.0, *edges, nodes=16)
    parts = [power_budget(run).absorbed_by["floor"] for run in tube_runs()]
    power = sum(abs(float(part.power.mean) - truth) <= float(part.power.half_width) for part in parts)
    share = sum(abs(part.share.value - truth / 2.0) <= part.share.half_width for part in parts)
    assert (power in COVERED, share in COVERED) == (True, True)


AREA = 2.0 * (SIZE[0] * SIZE[1] + SIZE[1] * SIZE[2] + SIZE[2] * SIZE[0])
CLOSED = 3.0 / (AREA * 0.5)
"""Mean irradiance of the walls [W m-2], P / (A (1 - r)): conservation of energy, as in an integrating sphere."""


def wall_mean(run: Result, kind: str, prefix: str) -> F64:
    """Mean over all walls in each replicate, by area."""
    total = 0.0
    for name, (_, u, v) in WALLS.items():
        area = float(np.linalg.norm(np.multiply(u, SIZE)) * np.linalg.norm(np.multiply(v, SIZE)))
        total = total + area / AREA * group_values(run, kind, prefix + name).sum(axis=(1, 2))
    return np.asarray(total)


def test_photons_in_a_closed_box() -> None:
    assert covered([wall_mean(run, "surface", "") for run in box_runs()], CLOSED) in COVERED


def test_planes_that_photons_cross_in_a_closed_box() -> None:
    assert covered([wall_mean(run, "sensor", "on ") for run in box_runs()], CLOSED) in COVERED


def test_paths_in_a_closed_box() -> None:
    assert covered([wall_mean(run, "sensor", "on ") for run in path_runs()], CLOSED) in COVERED


def test_links_in_a_closed_box() -> None:
    """Corners, where links are bounded and crossing photons bring the rest, are in the mean."""
    linked = with_links(box())
    runs = [linked.result(PHOTONS, seed) for seed in range(SEEDS)]
    assert covered([wall_mean(run, "sensor", "on ") for run in runs], CLOSED) in COVERED


def test_photons_and_paths_share_no_noise() -> None:
    """Correlation of wall means over runs within the 99.9 % limits of independent numbers."""
    photons = [wall_mean(run, "surface", "").mean() for run in path_runs()]
    paths = [wall_mean(run, "sensor", "on ").mean() for run in path_runs()]
    assert abs(np.corrcoef(photons, paths)[0, 1]) < norm.isf(0.0005) / np.sqrt(SEEDS)


def normal_scores(values: F64, truth: F64) -> F64:
    """Departures in units of the error, as normal deviates: Student's t of 64 replicates allowed for."""
    found = estimate(values)
    return np.asarray(norm.ppf(t.cdf((found.mean - truth) / found.se, REPLICATES - 1)))


def cell_truths(origin: F64, u: F64, v: F64, shape: tuple[int, int]) -> F64:
    du, dv = u / shape[0], v / shape[1]
    lamp = tube().seen.lamps["tube"]
    places = [(i, j) for j in range(shape[1]) for i in range(shape[0])]
    return np.array([mean_over(lamp, 2.0, origin + i * du + j * dv, du, dv) for i, j in places])


@pytest.mark.parametrize("kind", ["sensor", "surface"])
def test_independent_patches_scatter_as_their_errors_say(kind: str) -> None:
    """Sum of squared scores within the 99 % limits of chi-square on both sides."""
    if kind == "sensor":
        name, place = "grid", ((0.1, 0.1, 0.1), (0.6, 0.0, 0.0), (0.0, 0.4, 0.0))
    else:
        name, place = "floor", ((0.0, 0.0, 0.0), (0.8, 0.0, 0.0), (0.0, 0.6, 0.0))
    result = setup_of(TUBE + GRID).result(4096, 5)
    group = result.group(kind, name)  # type: ignore[arg-type]
    origin, u, v = (np.array(part) for part in place)
    truth = cell_truths(origin, u, v, group.shape)
    scores = normal_scores(result.irradiance[:, group.rows].sum(axis=(2, 3), dtype=float), truth)
    assert chi2.ppf(0.005, group.count) < float((scores**2).sum()) < chi2.ppf(0.995, group.count)


@cache
def path_runs_of(photons: int) -> list[Result]:
    setup = by_paths(setup_of(BOX + wall_planes(SIZE) + GRID))
    return [setup.result(photons, photons + seed) for seed in range(6)]


def errors_of(run: Result, kind: str) -> F64:
    groups = [group for group in run.groups if group.kind == kind and (group.detail or {}).get("kind") != "profile"]
    rows = [row for group in groups for row in range(group.first, group.first + group.count)]
    return estimate(run.irradiance[:, rows].sum(axis=(2, 3), dtype=float)).se


@pytest.mark.parametrize("kind", ["surface", "sensor"])
def test_four_times_the_photons_halve_the_error(kind: str) -> None:
    """Photons on cells and paths to receivers; points of low discrepancy may do a little better, never worse."""
    few = np.array([errors_of(run, kind) for run in path_runs_of(256)])
    many = np.array([errors_of(run, kind) for run in path_runs_of(1024)])
    ratio = float(np.sqrt((few**2).mean(axis=0) / (many**2).mean(axis=0)).mean())
    assert 1.8 <= ratio <= 2.2
