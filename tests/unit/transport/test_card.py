"""The graphics card's kernels in numba's simulator, which runs them as Python: they add up what the processor's do.

Photons, points and paths have the same random numbers on both, so all but the rounding of fixed-point sums agrees.
"""

from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numba
import numpy as np
import pytest

from sim.simulate.tallies import empty_tallies
from sim.simulate.trace import Tracer
from sim.transport.arrays import F64, Laws
from sim.transport.direct import gather_direct
from sim.transport.paths import gather_paths
from sim.transport.photons import Sums, trace_photons
from sim.transport.tree_build import build_tree
from sim.transport.tree_traverse import next_hits
from tests.support.setups import Setup, setup_of
from tests.support.two_lamps import SCENES

if TYPE_CHECKING:
    from sim.transport.gpu.card import Card

SIMULATED = bool(numba.config.ENABLE_CUDASIM)
pytestmark = [
    pytest.mark.tiny,
    pytest.mark.skipif(not SIMULATED, reason="needs NUMBA_ENABLE_CUDASIM=1 and NUMBA_DISABLE_JIT=1, as .ci/run sets"),
]

NAME = "glossy and mirror, pane, leaf and screen"
REPLICATES, SEED = 2, 11


@cache
def setup() -> Setup:
    return setup_of(SCENES[NAME])


@cache
def card() -> "Card":
    from sim.transport.gpu.card import Card

    compiled = setup().compiled
    return Card(compiled.model, REPLICATES, len(compiled.effort))


def sums(*shape: int) -> F64:
    return np.zeros((REPLICATES, *shape, setup().compiled.model.emitters.live.shape[1]))


def leaves(count: int, rng: np.random.Generator) -> F64:
    """Corners of a unit box and of small triangles in it."""
    small = rng.random((count, 1, 3)) + 0.05 * rng.standard_normal((count, 3, 3))
    square = np.array([[(0, 0), (1, 0), (1, 1)], [(0, 0), (1, 1), (0, 1)]], dtype=np.float64)
    walls = []
    for axis in range(3):
        for level in (0.0, 1.0):
            side = np.full((2, 3, 3), level)
            side[:, :, [other for other in range(3) if other != axis]] = square
            walls.append(side)
    return np.concatenate([*walls, small])


@pytest.mark.parametrize("triangles", [0, 3, 150])
def test_closest_hits_are_those_of_the_processor(triangles: int) -> None:
    """To the last bit, also for rays that start on triangles and outside of everything."""
    from sim.transport.gpu.card import card_hits

    rng = np.random.Generator(np.random.Philox(5))
    corners, rays = leaves(triangles, rng), 60
    tree = build_tree(corners)
    leaving = np.where(rng.random(rays) < 0.5, rng.integers(0, len(corners), rays), -1)
    origins = np.where((leaving >= 0)[:, None], corners[leaving].mean(axis=1), rng.uniform(-0.5, 1.5, (rays, 3)))
    towards = rng.standard_normal((rays, 3))
    towards /= np.linalg.norm(towards, axis=1)[:, None]
    distance, triangle = np.full(rays, np.nan), np.full(rays, -2)
    next_hits(tree, origins, towards, leaving, distance, triangle)
    found_distance, found = card_hits(tree, origins, towards, leaving)
    assert np.array_equal(triangle, found)
    assert np.array_equal(distance, found_distance)
    assert (found >= 0).any()


def test_of_surfaces_in_one_plane_the_later_is_hit() -> None:
    from sim.transport.gpu.card import card_hits

    floor = np.array([[(0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)]])
    for count in (2, 5, 20):
        tree = build_tree(np.repeat(floor, count, axis=0))
        distance, found = card_hits(tree, np.array([[0.2, 0.2, 1.0]]), np.array([[0.0, 0.0, -1.0]]), np.array([-1]))
        assert (count - 1, 1.0) == (found[0], distance[0])


def pairs(count: int, rng: np.random.Generator) -> F64:
    """Corners of parallelograms cut in two."""
    start, u, v = rng.random((3, count, 3)) * np.array([1.0, 0.2, 0.2])[:, None, None]
    first, second = [start, start + u, start + u + v], [start, start + u + v, start + v]
    return np.concatenate([np.stack(first, axis=1), np.stack(second, axis=1)])


@pytest.mark.parametrize("triangles", [3, 150])
def test_each_triangle_lies_once_within_the_boxes_above_it(triangles: int) -> None:
    """Alone or with the other half of its parallelogram."""
    from sim.transport.gpu import tree as card

    rng = np.random.Generator(np.random.Philox(6))
    corners = np.concatenate([leaves(triangles, rng), pairs(triangles, rng)])
    found = card.card_tree(build_tree(corners))
    nodes, rows = found.nodes.reshape(-1, 4, 4), found.piece.reshape(-1, card.PIECE_ROW)
    names = np.ascontiguousarray(rows[:, 6]).view(np.int32).reshape(-1, 2)
    steps = card.STEPS + np.stack([nodes[:, :3] & 0xFFFF, nodes[:, :3] >> 16])
    bounds = found.grid[:3, None] + steps * float(found.grid[3]) + found.frame[:3, None]
    large, root = card.roots(found)
    nowhere = (found.leaves.reshape(-1, card.LEAF_ROW) == card.NOWHERE).all(axis=1)
    assert not nowhere[large:].any()
    seen = np.flatnonzero(~nowhere[:large]).tolist()
    todo = [(root, np.full(3, -np.inf), np.full(3, np.inf))][: len(nodes)]
    while todo:
        reference, low, high = todo.pop()
        if reference >= 0:
            for lane in np.flatnonzero((nodes[reference, :3] != card.EMPTY).any(axis=0)):
                todo.append((int(nodes[reference, 3, lane]), *bounds[:, reference, :, lane]))
        else:
            seen.append(~reference)
            halves = names[~reference]
            points = corners[halves[halves >= 0]]
            assert (low < points).all()
            assert (points < high).all()
    assert sorted(seen) == np.flatnonzero(~nowhere).tolist()
    rows_of, halves = np.repeat(seen, 2), names[seen].ravel()
    assert sorted(halves[halves >= 0]) == list(range(len(corners)))
    assert np.array_equal(found.place[halves[halves >= 0]], rows_of[halves >= 0])
    assert (names[seen, 1] >= 0).sum() >= triangles


@pytest.mark.parametrize("triangles", [1, 2, 15, 40])
def test_what_fills_up_the_large_pieces_is_not_met(triangles: int) -> None:
    from sim.transport.gpu import rays, sift
    from sim.transport.gpu import tree as card

    corners = leaves(triangles, np.random.Generator(np.random.Philox(9)))[12:]
    found = card.card_tree(build_tree(corners))
    assert card.roots(found)[0] % card.AT_A_TIME == 0
    leaf_rows = found.leaves.reshape(-1, card.LEAF_ROW)
    spare = np.flatnonzero((leaf_rows == card.NOWHERE).all(axis=1))
    assert len(leaf_rows) - len(spare) == triangles
    assert len(spare) == min(triangles, 16) % 2 or triangles > 16
    for row in spare:
        for way in np.eye(3):
            ray = rays.card_ray(found, rays.Line(*corners[0, 0], *way), 0.0)
            seen = sift.test_piece(found, np.int32(row), ray, found.grid[5])
            assert seen.inner < -seen.slack


@pytest.mark.parametrize("paired", [False, True])
def test_single_precision_is_as_near_to_a_piece_as_it_says(paired: bool) -> None:
    """Also at grazing angles, on edges, and on slivers; those of no height have a slack without bound."""
    from sim.transport.gpu import rays, sift
    from sim.transport.gpu import tree as card

    rng = np.random.Generator(np.random.Philox(8))
    count = 200
    size = 10.0 ** rng.uniform(-2, -0.5, (count, 1, 1))
    corners = np.clip(rng.random((count, 1, 3)) + size * rng.normal(size=(count, 3, 3)), 0.0, 1.0)
    thin = 10.0 ** rng.uniform(-6, -2, (count // 2, 1))
    corners[::2, 2] = 0.3 * corners[::2, 0] + 0.7 * corners[::2, 1] + thin * rng.normal(size=(count // 2, 3))
    corners[0, 2] = corners[0, 1]
    if paired:
        across = corners[:, 1] + corners[:, 2] - corners[:, 0]
        corners = np.concatenate([corners, np.stack([across, corners[:, 2], corners[:, 1]], axis=1)])
    tree = card.card_tree(build_tree(corners))
    rows = tree.piece.reshape(-1, card.PIECE_ROW)
    edges = rows[:, card.EDGES :]
    whole = np.ascontiguousarray(rows[:, 6]).view(np.int32).reshape(-1, 2)[:, 1] >= 0
    exact = 0
    for row, corner in enumerate(rows[:, :3]):
        if not corner.any():
            continue
        edge1, edge2 = edges[row, :3], edges[row, 3:6]
        u = rng.random() * (row % 2)
        target = corner + u * edge1 + (1.0 if whole[row] else 1.0 - u) * rng.random() * edge2
        o = np.clip(target + 0.3 * rng.normal() * edge1 + 10.0 ** rng.uniform(-6, 0) * rng.normal(size=3), 0.0, 1.0)
        way = float(np.linalg.norm(target - o))
        d = (target - o) / way
        ray = rays.card_ray(tree, rays.Line(*o, *d), 0.0)
        seen = sift.test_piece(tree, np.int32(row), ray, tree.grid[5])
        assert seen.inner >= -seen.slack
        assert seen.low <= way <= seen.high
        exact += bool(seen.slack < 0.05)
    assert exact > count // 4
    assert (whole.sum() > count // 2) == paired
    flat = int(tree.place[0])
    assert not tree.leaves.reshape(-1, card.LEAF_ROW)[flat, :12].any()


def test_compiled_kernels_lie_in_a_folder_of_their_sources(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from sim.transport.gpu import target

    found = []
    monkeypatch.setattr(target, "__file__", str(tmp_path / "target.py"))
    for text in ("one = 1", "one = 2", "one = 1"):
        (tmp_path / "target.py").write_text(text, encoding="utf-8")
        found.append(target.source_folder())
    assert found[0] == found[2] != found[1]


def test_a_copy_of_a_function_sees_other_names() -> None:
    from sim.transport.gpu import target

    copy = target.with_names(named, "_there", NAME="other")
    assert (copy(), named(), copy.__name__) == ("other", NAME, "named_there")


def named() -> str:
    return NAME


@pytest.mark.parametrize("lamp", [0, 1])
def test_photons_add_up_to_what_they_do_on_the_processor(lamp: int) -> None:
    compiled, first, count = setup().compiled, 5, 4
    found = card().photons(lamp, first, count, SEED)
    surfaces = len(compiled.surface_names)
    wanted = sums(compiled.cells), sums(len(compiled.effort)), sums(surfaces), sums(), sums(), sums(surfaces)
    for replicate in range(REPLICATES):
        rows = Sums(*(part[replicate] for part in wanted))
        trace_photons(compiled.model, lamp, replicate, first, count, SEED, rows)
    for one, other in zip(wanted, found, strict=True):
        # Each of at most a hundred meetings is rounded to a half of 2^-40 or so.
        np.testing.assert_allclose(other, one, rtol=0.0, atol=1e-9)
    assert wanted[0].sum() > 0.0
    assert wanted[1].sum() > 0.0


@pytest.mark.parametrize("lamp", [0, 1])
def test_points_and_paths_add_up_to_what_they_do_on_the_processor(lamp: int) -> None:
    compiled = setup().compiled
    paths_to, looking = np.arange(len(compiled.effort)), np.arange(len(compiled.model.receivers.origin))
    # Nine are summed in two pieces.
    counts = np.array([2, 0, 9])
    whole = np.concatenate([compiled.whole, np.zeros(len(looking) - len(paths_to), dtype=np.bool_)])
    direct, paths = sums(len(looking)), sums(len(paths_to))
    at, more = looking % 3, counts[looking % 3]
    gather_direct(compiled.model, lamp, 0, len(looking), at, more, whole, SEED, direct)
    np.testing.assert_allclose(card().direct(lamp, at, more, whole, SEED), direct, rtol=1e-14, atol=0.0)
    at, more = paths_to % 3, counts[paths_to % 3]
    for replicate in range(REPLICATES):
        gather_paths(compiled.model, lamp, replicate, at, more, whole, SEED, paths[replicate])
    np.testing.assert_allclose(card().paths(lamp, at, more, whole, SEED), paths, rtol=1e-14, atol=0.0)
    assert direct.sum() > 0.0
    assert paths.sum() > 0.0


def test_what_escapes_is_booked() -> None:
    from sim.transport.gpu.card import Card

    compiled = setup_of(SCENES["hole"]).compiled
    found = Card(compiled.model, 1, len(compiled.effort)).photons(0, 0, 12, SEED)
    emitted = 12 * compiled.model.emitters.live[0]
    np.testing.assert_allclose(found.absorbed.sum(axis=(0, 1)) + found.escaped[0], emitted, rtol=0.0, atol=1e-9)
    assert found.escaped.max() >= 1.0 - 1e-9


def test_the_simulator_is_a_card() -> None:
    from sim.transport.gpu.present import why_no_card

    assert why_no_card() is None


def laws(**changed: F64) -> Laws:
    """One law that takes all."""
    none = Laws(
        diffuse=np.zeros((1, 1, 2, 2)),
        lobe=np.zeros((1, 1, 2)),
        facets=np.zeros((1, 6)),
        specular=np.zeros((0, 1, 2, 3, 2)),
        specular_row=np.full(1, -1),
        fill=np.full((1, 2), -1.0),
        wires=np.zeros((1, 1, 2, 2)),
        clear=np.ones((1, 2, 2, 2)),
        twice=np.zeros((1, 2)),
    )
    return none._replace(**changed)


def test_what_a_law_keeps_at_most() -> None:
    from sim.transport.gpu.fixed_point import most_kept

    assert most_kept(laws()) == 0.0
    assert most_kept(laws(diffuse=np.array([[[[0.1, 0.3], [0.2, 0.05]]]]), lobe=np.full((1, 1, 2), 0.1))) == 0.5
    mirror = np.zeros((1, 1, 2, 3, 2))
    mirror[0, 0, 1] = [[0.1, 0.9], [0.2, 0.6], [0.5, 0.25]]
    assert most_kept(laws(specular=mirror, specular_row=np.zeros(1, dtype=np.int64))) == 1.0
    # Half of each way is free, so a quarter passes, and the wires send back a half of the rest.
    assert most_kept(laws(fill=np.full((1, 2), 0.5), wires=np.full((1, 1, 2, 2), 0.5))) == 0.625


def test_sums_cannot_overflow() -> None:
    """Not where light is lost, and not where photons go on until they are given up."""
    from sim.transport.gpu.fixed_point import scale_of
    from sim.transport.photons import BOUNCE_LIMIT

    for kept in (0.0, 0.5, 0.97, 1.0):
        white = laws(diffuse=np.full((1, 1, 2, 2), 0.5 * kept))
        for photons in (1, 1000, 65_536):
            scale = scale_of(white, photons)
            meetings = min(BOUNCE_LIMIT, 16.0 / max(1.0 - kept, 1e-12))
            assert photons * meetings * scale <= 2.0**62
            assert np.log2(scale) == int(np.log2(scale))
    assert scale_of(laws(), 65_536) == 2.0**42


def test_pieces_hold_each_point_once() -> None:
    from sim.transport.gpu.card import cut

    first, count = np.array([0, 7, 100, 3]), np.array([20, 0, 8, 1])
    points = [(int(row), at) for row, start, stop in cut(first, count) for at in range(start, stop)]
    assert [(row, first[row] + at) for row in range(4) for at in range(count[row])] == points
    large = cut(np.zeros(3, dtype=np.int64), np.array([10**6, 0, 10**6]))
    assert len(large) <= 4096 + 3
    assert (large[:, 2] - large[:, 1]).sum() == 2 * 10**6


def test_steps_on_the_card_are_those_on_the_processor(monkeypatch: pytest.MonkeyPatch) -> None:
    """In two steps, so that counts go on from where they were."""
    compiled = setup().compiled
    for place in ("LEAST_POINTS", "LEAST_PATHS", "LEAST_CELL_POINTS"):
        monkeypatch.setattr(f"sim.simulate.effort.{place}", 1)
    found = []
    with ThreadPoolExecutor(max_workers=1) as pool:
        for there in (None, card()):
            tallies = empty_tallies(compiled, REPLICATES)
            tracer = Tracer(compiled, tallies, SEED, pool, card=there)
            for photons in (2, 5):
                tracer.step(1, photons)
            found.append(tallies.arrays())
    for name, array in found[0].items():
        np.testing.assert_allclose(found[1][name], array, rtol=1e-12, atol=1e-9, err_msg=name)
    assert found[0]["paths"][1].sum() > 0.0
    assert found[0]["cells"][1].sum() > 0.0
