"""Small lamps in rough mirrors: paths agree with photons, and their intervals cover the truth 95 % of the time."""

from functools import cache

import pytest
from scipy.stats import t

from sim.simulate.tallies import REPLICATES
from sim.tally.statistics import estimate
from tests.support.lobe_light import by_plate, glossy, law
from tests.support.mirror_light import DOWN, mirror
from tests.support.scene_blocks import Triple, box, matt, panel, plane, plate, point, scene, spot
from tests.support.setups import Setup, by_paths, group_values, setup_of
from tests.support.significance import sidak

pytestmark = pytest.mark.slow

SEEDS = 200
COVERED = range(181, 198)
"""Of 200 seeds: 99 % of binomial draws at 0.95 lie in it."""
PHOTONS = 64
FALSE_ALARM = 0.001
"""Significance of all comparisons together."""
LAMP: Triple = (-0.15, 0.0, 0.3)
SIDE = 1.2
SMALL = 1e-3
ROOM = (0.6, 0.5, 0.4)
PANE = '{ kind = "sheet", n = 1.53, k = 1e-8, thickness = "4 mm" }'
MESH = '{ kind = "screen", wire = "0.5 mm", pitch = "1.5 mm", reflectance = 0.9 }'
ROOMS = {
    "gloss alone": ({"all": '"black"', "floor": glossy(0.9, 1.0, 0.2), "back": glossy(0.8, 1.0, 0.4)}, ""),
    "matt and gloss": ({"all": matt(0.5), "floor": glossy(0.9, 0.6, 0.2), "left": glossy(0.6, 1.0, 0.15)}, ""),
    "a mirror": ({"all": matt(0.3), "floor": glossy(0.9, 0.8, 0.3), "back": mirror(0.9)}, ""),
    "mirrors that face each other": (
        {"all": '"black"', "floor": glossy(0.9, 1.0, 0.2), "back": mirror(0.9), "front": mirror(0.8)},
        "",
    ),
    "a pane and a screen": (
        {"all": matt(0.3), "floor": glossy(0.9, 0.8, 0.2)},
        plate("pane", (0.05, 0.05, 0.2), (0.25, 0, 0), (0, 0.4, 0), PANE)
        + "\n\n"
        + plate("screen", (0.3, 0.05, 0.15), (0.25, 0, 0), (0, 0.4, 0.05), MESH),
    ),
}


@pytest.mark.parametrize("name", ROOMS)
def test_paths_and_photons_agree(name: str) -> None:
    """Planes over a lamp of a millimetre, which no path runs into but near its start, read by both."""
    walls, extra = ROOMS[name]
    text = scene(
        "A small lamp in a room",
        box(ROOM, walls),
        spot((0.2, 0.2, 0.35), DOWN, SMALL),
        *([extra] if extra else []),
        plane("low", (0.05, 0.05, 0.02), (0.5, 0, 0), (0, 0.4, 0)),
        plane("side", (0.55, 0.05, 0.05), (0, 0, 0.3), (0, 0.4, 0)),
        plane("under the lid", (0.05, 0.05, 0.38), (0, 0.4, 0), (0.5, 0, 0)),
        histories=1,
    )
    setup = setup_of(text)
    crossed, paths = setup.result(40_000, 5), by_paths(setup).result(12_000, 6)
    limit = float(t.isf(0.5 * sidak(FALSE_ALARM, 3 * len(ROOMS)), REPLICATES - 1))
    for plane_name in ("low", "side", "under the lid"):
        by_photon = group_values(crossed, "sensor", plane_name).sum(axis=(1, 2))
        by_path = group_values(paths, "sensor", plane_name).sum(axis=(1, 2))
        difference = estimate(by_path - by_photon)
        assert abs(float(difference.mean)) < limit * float(difference.se)
        assert float(difference.se) < 0.03 * by_photon.mean()


@pytest.mark.parametrize("alpha", [0.005, 0.02])
def test_a_large_lamp_in_narrow_lobes(alpha: float) -> None:
    """There it is seldom looked for, and paths that go on find it."""
    text = scene(
        "A panel over polished walls",
        box(ROOM, {"all": matt(0.3), "floor": glossy(0.9, 0.9, alpha), "back": glossy(0.8, 1.0, alpha)}),
        panel((0.1, 0.1, 0.39), (0, 0.3, 0), (0.4, 0, 0), 1.0),
        plane("low", (0.05, 0.05, 0.02), (0.5, 0, 0), (0, 0.4, 0)),
        plane("up", (0.05, 0.05, 0.2), (0, 0.4, 0), (0.5, 0, 0)),
        histories=1,
    )
    setup = setup_of(text)
    crossed, paths = setup.result(20_000, 7), by_paths(setup).result(8_000, 9)
    limit = float(t.isf(0.5 * sidak(FALSE_ALARM, 4), REPLICATES - 1))
    for name in ("low", "up"):
        by_photon = group_values(crossed, "sensor", name).sum(axis=(1, 2))
        difference = estimate(group_values(paths, "sensor", name).sum(axis=(1, 2)) - by_photon)
        assert abs(float(difference.mean)) < limit * float(difference.se)
        assert float(difference.se) < 0.02 * by_photon.mean()


@cache
def over_a_plate(alpha: float, x: Triple) -> tuple[Setup, float]:
    text = scene(
        "A spot over a glossy plate",
        spot(LAMP, DOWN, 1e-4),
        plate("sheen", (-0.5 * SIDE, -0.5 * SIDE, 0), (SIDE, 0, 0), (0, SIDE, 0), glossy(0.9, 0.9, alpha)),
        point("meter", x, DOWN),
        histories=1,
    )
    return setup_of(text), by_plate(LAMP, x, SIDE, lambda wi, wo: law(0.9, 0.9, alpha, wi, wo))


@pytest.mark.parametrize("alpha", [0.1, 0.3, 0.5])
@pytest.mark.parametrize("x", [(0.15, 0.0, 0.3), (0.3, 0.2, 0.2)])
def test_intervals_cover(alpha: float, x: Triple) -> None:
    setup, truth = over_a_plate(alpha, x)
    wide, covered = float(t.ppf(0.975, REPLICATES - 1)), 0
    for seed in range(SEEDS):
        found = estimate(group_values(setup.result(PHOTONS, seed), "sensor", "meter").sum(axis=(1, 2)))
        covered += abs(float(found.mean) - truth) < wide * float(found.se)
    assert covered in COVERED
