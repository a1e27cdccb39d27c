"""Free-standing receivers against closed forms: a panel, its images in mirrors, and what stands in between."""

import numpy as np
import pytest
from scipy.stats import t

from sim.transport.arrays import F64
from sim.transport.direct import RAREST, every, gather_direct
from sim.transport.paths import gather_paths
from tests.support.polygon_light import polygon_factors
from tests.support.setups import Setup, by_paths, setup_of
from tests.support.significance import sidak
from tests.support.sizes import COMPILED, sized
from tests.support.two_lamps import RICHEST, SCENES

pytestmark = pytest.mark.tiny

FALSE_ALARM = 0.001
R = 0.9
LEFT = ', left = "bright"'
ROOM = """
title = "A panel in a black room, perhaps with mirrors"
[enclosure]
size = ["80 cm", "60 cm", "50 cm"]
walls = {{ all = "black"{mirrors} }}
[laws.bright]
kind = "mirror"
reflectance = 0.9
[laws.nothing]
kind = "sheet"
n = 1.0
k = 0.0
thickness = "4 mm"
[laws.cloth]
kind = "screen"
wire = "0.3 mm"
pitch = "1.5 mm"
[[lamps]]
name = "panel"
kind = "panel"
corner = ["20 cm", "20 cm", "40 cm"]
edge_u = ["0 cm", "{depth} cm", "0 cm"]
edge_v = ["{width} cm", "0 cm", "0 cm"]
body = "black"
spectrum = {{ lines = [{{ at = "313 nm", weight = 1.0 }}] }}
output = {{ radiant = "1 W" }}
[[sensors]]
name = "point"
kind = "point"
at = ["30 cm", "25 cm", "5 cm"]
normal = [0.0, 0.0, 1.0]
[[sensors]]
name = "plane"
kind = "plane"
corner = ["45 cm", "35 cm", "5 cm"]
edge_u = ["10 cm", "0 cm", "0 cm"]
edge_v = ["0 cm", "10 cm", "0 cm"]
[animal]
reach = []
[run]
receiver_size = "50 cm"
"""
PLATE = """
[[parts]]
name = "plate"
kind = "plate"
corner = ["{x} cm", "{y} cm", "{z} cm"]
edge_u = ["{u} cm", "0 cm", "0 cm"]
edge_v = ["0 cm", "{v} cm", "0 cm"]
law = "{law}"
"""
WIDTH, DEPTH = 20, 15
PANEL = np.array([[0.2, 0.2, 0.4], [0.4, 0.2, 0.4], [0.4, 0.35, 0.4], [0.2, 0.35, 0.4]])
UP = np.array([0.0, 0.0, 1.0])


def room(mirrors: str = "", plate: str = "", width: int = WIDTH, depth: int = DEPTH) -> Setup:
    return setup_of(ROOM.format(mirrors=mirrors, width=width, depth=depth) + plate)


def place(x: float, y: float, z: float, u: float, v: float, law: str) -> str:
    return PLATE.format(x=x, y=y, z=z, u=u, v=v, law=law)


def from_panel(x: F64, corners: F64 = PANEL) -> float:
    """Irradiance per watt at a point that faces up."""
    triangles = corners[[[0, 1, 2], [0, 2, 3]]]
    return float(polygon_factors(triangles, x, UP).sum()) / (0.01 * WIDTH * 0.01 * DEPTH)


def over_plane(corners: F64 = PANEL, nodes: int = 6) -> float:
    points, weights = np.polynomial.legendre.leggauss(nodes)
    values = [[from_panel(np.array([0.5 + 0.05 * u, 0.4 + 0.05 * v, 0.05]), corners) for v in points] for u in points]
    return float(weights @ np.array(values) @ weights) / 4.0


def truths(corners: F64 = PANEL) -> F64:
    """At the point and over the plane."""
    return np.array([from_panel(np.array([0.3, 0.25, 0.05]), corners), over_plane(corners)])


def mirrored(corners: F64, at: float) -> F64:
    return np.column_stack([2.0 * at - corners[:, 0], corners[:, 1], corners[:, 2]])


LOOKS = [(1.0, 1), (0.51, 1), (0.5, 2), (0.26, 2), (0.13, 4), (1e-9, RAREST), (3.0, 1)]


@pytest.mark.parametrize(("by_mirror", "stride"), LOOKS)
def test_a_mirror_that_brings_little_is_looked_at_less_often(by_mirror: float, stride: int) -> None:
    seen = np.array([1.0, by_mirror])
    assert (1, stride) == (every(seen, 0), every(seen, 1))
    assert every(np.array([0.0, by_mirror]), 1) == 1


def gathered(made: Setup, points: int, paths: int, replicates: int = 16, seed: int = 5) -> tuple[F64, F64]:
    """Means of direct and path sums of point and plane (replicate, 2), paths for both or for none."""
    model, count = made.compiled.model, len(made.compiled.effort)
    by_path = np.full(count, paths > 0)
    first, many, few = np.zeros(count, dtype=np.int64), np.full(count, points), np.full(count, paths)
    many[2:] = few[2:] = 0
    direct, rest = np.zeros((replicates, count, 1)), np.zeros((replicates, count, 1))
    gather_direct(model, 0, 0, count, first, many, by_path, seed, direct)
    for replicate in range(replicates):
        gather_paths(model, 0, replicate, first, few, by_path, seed, rest[replicate])
    assert np.all(direct[:, 2:] == 0.0)
    assert np.all(rest[:, 2:] == 0.0)
    return direct[:, :2, 0] / points, rest[:, :2, 0] / max(paths, 1)


def assert_true(values: F64, expected: F64) -> None:
    """Means over replicates agree with closed forms, by Student's t; false alarm stated above for each pair."""
    error = values.std(axis=0, ddof=1) / np.sqrt(len(values))
    limit = float(t.isf(0.5 * sidak(FALSE_ALARM, values.shape[1]), len(values) - 1))
    np.testing.assert_array_less(np.abs(values.mean(axis=0) - expected), limit * error + 1e-9)
    # The error is small enough for the comparison to mean something.
    assert np.all(error < sized(2, 20) * 0.01 * expected)


def test_straight_light_by_shadow_rays_alone() -> None:
    direct, rest = gathered(room(), sized(1024, 32), 0)
    assert np.all(rest == 0.0)
    assert_true(direct, truths())


def test_straight_light_shared_with_paths() -> None:
    direct, rest = gathered(by_paths(room()), sized(1024, 32), sized(8192, 256))
    assert rest.mean() > 0.0
    assert_true(direct + rest, truths())


def test_image_in_one_mirror() -> None:
    """The mirror doubles the panel, dimmed to nine tenths."""
    expected = truths() + R * truths(mirrored(PANEL, 0.0))
    made = room(LEFT)
    direct, _ = gathered(made, sized(1024, 32), 0)
    assert_true(direct, expected)
    shared = np.add(*gathered(by_paths(made), sized(1024, 32), sized(8192, 200)))
    assert_true(shared, expected)


def test_image_in_the_floor_seen_from_above() -> None:
    """The panel that faces down has an image that faces up."""
    made = room(', floor = "bright"')
    made.compiled.model.receivers.normal[0] = -UP
    below = PANEL * [1.0, 1.0, -1.0]
    factors = polygon_factors(below[[[0, 1, 2], [0, 2, 3]]], np.array([0.3, 0.25, 0.05]), -UP)
    expected = R * float(factors.sum()) / (0.01 * WIDTH * 0.01 * DEPTH)
    direct, _ = gathered(made, sized(1024, 32), 0)
    assert_true(direct[:, :1], np.array([expected]))


def test_images_of_images() -> None:
    """Two mirrors that face each other: an endless row of panels, each reflection dimmer; paths find the later ones."""
    expected = truths()
    for first in (0.0, 0.8):
        corners, share, at = PANEL, 1.0, first
        for _ in range(60):
            corners, share, at = mirrored(corners, at), share * R, 0.8 - at
            expected = expected + share * truths(corners)
    made = by_paths(room(LEFT + ', right = "bright"'))
    direct, rest = gathered(made, sized(1024, 32), sized(40_000, 200))
    if COMPILED:
        assert_true(direct + rest, expected)
    else:
        # Few paths meet the far images, too few for a scatter to go by.
        np.testing.assert_allclose((direct + rest).mean(axis=0), expected, rtol=0.03)


# Between lamp and receivers, and also across the way by the mirror.
@pytest.mark.parametrize("mirrors", ["", LEFT])
def test_a_sheet_that_is_none_changes_nothing(mirrors: str) -> None:
    plain, _ = gathered(room(mirrors), sized(128, 16), 0, replicates=4)
    behind, _ = gathered(room(mirrors, place(1, 1, 20, 78, 58, "nothing")), sized(128, 16), 0, replicates=4)
    np.testing.assert_allclose(behind, plain, rtol=1e-6)


def test_a_black_plate_lets_nothing_through() -> None:
    for mirrors in ("", LEFT):
        made = by_paths(room(mirrors, place(0, 0, 20, 80, 60, "black")))
        direct, rest = gathered(made, 16, 16, replicates=2)
        assert (0.0, 0.0) == (float(direct.sum()), float(rest.sum()))


def test_a_plate_in_the_way_of_the_image_alone_takes_the_image_alone() -> None:
    made = room(LEFT, place(0, 0, 20, 24, 60, "black"))
    direct, _ = gathered(made, sized(1024, 32), 0)
    assert_true(direct, truths())


def test_a_screen_takes_its_share_of_a_small_lamp_overhead() -> None:
    """Nearly normal incidence, so the open area of the cloth, (1 - 0.2)^2."""
    small = {"width": 1, "depth": 1}
    plain, _ = gathered(room(**small), 32, 0, replicates=2)
    behind, _ = gathered(room(plate=place(15, 15, 20, 20, 20, "cloth"), **small), 32, 0, replicates=2)
    cosine = 0.35 / np.sqrt(0.35**2 + 0.095**2 + 0.045**2)
    assert 0.64 * cosine < float((behind[:, 0] / plain[:, 0]).mean()) < 0.64


def scattered(height: float, apart: float, share: float) -> float:
    """Irradiance per watt from a matt sheet over the whole room, at a point `apart` above or below (0.3, 0.25) of it.

    The sheet at `height` returns or passes a share of the panel's light, which falls on it from above; Gauss-Legendre.
    """
    points, weights = np.polynomial.legendre.leggauss(48)
    total = 0.0
    for u, wu in zip(points, weights, strict=True):
        for v, wv in zip(points, weights, strict=True):
            x = np.array([0.4 + 0.4 * u, 0.3 + 0.3 * v, height])
            distance2 = apart**2 + (x[0] - 0.3) ** 2 + (x[1] - 0.25) ** 2
            total += 0.4 * 0.3 * wu * wv * from_panel(x) * apart**2 / (np.pi * distance2**2)
    return share * total


def test_light_off_a_matt_floor() -> None:
    made = by_paths(room(', floor = { kind = "lambertian", reflectance = 0.5 }'))
    normal, origin = made.compiled.model.receivers.normal, made.compiled.model.receivers.origin
    normal[0], origin[0] = -UP, [0.3, 0.25, 0.2]
    direct, rest = gathered(made, 16, sized(8192, 300))
    assert np.all(direct[:, 0] == 0.0)
    assert_true(rest[:, :1], np.array([scattered(0.0, 0.2, 0.5)]))


def test_light_through_a_leaf() -> None:
    law = '{ kind = "leaf", reflectance = 0.0, transmittance = 0.4 }'
    made = by_paths(room(plate=place(0, 0, 25, 80, 60, "black").replace('"black"', law)))
    direct, rest = gathered(made, 16, sized(8192, 300))
    assert np.all(direct == 0.0)
    assert_true(rest[:, :1], np.array([scattered(0.25, 0.2, 0.4)]))


def test_sums_are_added_to_and_counts_are_kept() -> None:
    made = by_paths(room(LEFT))
    model, count = made.compiled.model, len(made.compiled.effort)
    by_path, zeros = np.full(count, True), np.zeros(count, dtype=np.int64)
    number = np.where(np.arange(count) == 1, sized(200, 20), 0)
    for kernel in ("direct", "paths"):

        def run(first: np.ndarray, many: np.ndarray, total: F64, kernel: str = kernel) -> F64:
            if kernel == "direct":
                gather_direct(model, 0, 0, count, first, many, by_path, 8, total[None])
            else:
                gather_paths(model, 0, 2, first, many, by_path, 8, total)
            return total

        fresh = run(zeros, number, np.zeros((count, 1)))
        poisoned = run(zeros, number, np.full((count, 1), 5.0))
        np.testing.assert_allclose(poisoned - 5.0, fresh, atol=1e-9 * fresh.max())
        assert np.all(poisoned[number == 0] == 5.0)
        half = number // 2
        assert np.array_equal(fresh, run(half, number - half, run(zeros, half, np.zeros((count, 1)))))


def test_a_path_without_end_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    if COMPILED:
        pytest.skip("a compiled limit stands; as plain Python with a lower one its end is seen")
    monkeypatch.setattr("sim.transport.paths.BOUNCE_LIMIT", 30)
    made = by_paths(room(LEFT + ', right = "bright", front = "bright", back = "bright", floor = "bright"'))
    made.compiled.model.laws.specular[..., 0] = 1.0
    direct, rest = gathered(made, 8, 8, replicates=2)
    assert np.all(np.isfinite(direct + rest))


@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize("name", ["spot by a mirror", "bright screen by a mirror", RICHEST])
def test_paths_in_pieces_add_up_and_bring_only_what_the_lamp_emits(name: str, whole: bool) -> None:
    """Through every law: the paths 0 to 5 at once and in two goes, in bands that the lamp has and has not."""
    made = setup_of(SCENES[name])
    model, count = made.compiled.model, len(made.compiled.effort)
    flags, zeros = np.full(count, whole), np.zeros(count, dtype=np.int64)
    few = np.where(np.arange(count) % sized(1, 3) == 0, 6, 0)
    live = model.emitters.live

    def run(lamp: int, goes: list[tuple[int, int]]) -> F64:
        total = np.zeros((count, live.shape[1]))
        for first, last in goes:
            some = np.clip(few, 0, last) - np.minimum(few, first)
            gather_paths(model, lamp, 3, zeros + first, some, flags, 9, total)
        return total

    for lamp in range(len(live)):
        at_once, in_two = run(lamp, [(0, 6)]), run(lamp, [(0, 2), (2, 6)])
        np.testing.assert_allclose(in_two, at_once, rtol=1e-12)
        assert np.all(np.isfinite(at_once))
        assert np.all(at_once >= 0.0)
        assert np.all(at_once[:, live[lamp] == 0.0] == 0.0)
        assert np.all(at_once.sum(axis=0)[live[lamp] > 0.0] > 0.0)
        assert np.all(at_once[few == 0] == 0.0)
