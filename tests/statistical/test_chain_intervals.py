"""Intervals cover the truth 95 % of the time also where a small lamp is seen in mirrors and panes alone, or between."""

import math
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from scipy.stats import t

from sim.simulate.tallies import REPLICATES
from sim.tally.statistics import estimate
from tests.analytic.test_pile_of_plates import R, level
from tests.support.mirror_light import DOWN, box_images, mirror, small_lamp, sum_of, wedge, wedge_images
from tests.support.scene_blocks import Triple, box, point, scene, spot
from tests.support.setups import Setup, group_values, setup_of

pytestmark = pytest.mark.slow

SEEDS = 200
COVERED = range(181, 198)
"""Of 200 seeds: 99 % of binomial draws at 0.95 lie in it."""
PHOTONS = 64
LAMP, UP = 1e-4, (0.0, 0.0, 1.0)
"""The spot is a disc of 24 sides: so small that it is a point to the last digit that counts."""


@cache
def a_wedge() -> tuple[Setup, float]:
    low, high = 0.4 * math.pi / 4, 0.7 * math.pi / 4
    lamp: Triple = (0.3 * math.cos(low), 0.3 * math.sin(low), 0.3)
    x: Triple = (0.4 * math.cos(high), 0.4 * math.sin(high), 0.0)
    text = scene("A kaleidoscope", spot(lamp, DOWN, LAMP), *wedge(4), point("meter", x), histories=1)
    return setup_of(text), sum_of(wedge_images(4, lamp, x), 0.8, x, UP)


@cache
def a_box() -> tuple[Setup, float]:
    size, lamp, x = (1.0, 0.8, 0.6), (0.3, 0.3, 0.5), (0.6, 0.45, 1e-3)
    text = scene("A box", box(size, {"all": mirror(0.4)}), spot(lamp, DOWN, LAMP), point("meter", x), histories=1)
    return setup_of(text), sum_of(box_images(size, lamp, 20), 0.4, x, UP)


@cache
def three_panes() -> tuple[Setup, float]:
    """On the axis light meets the panes squarely: what goes to and fro between them is counted out."""
    heights = (0.1, 0.2, 0.4)
    text = scene(
        "Panes",
        spot((0, 0, 0.5), DOWN, LAMP),
        *(level(f"pane {height}", height) for height in heights),
        point("meter", (0, 0, 0)),
        histories=1,
    )
    back = 2 * R / (1 + R)

    def arriving(height: float, up: bool, weight: float, way: float, turns: int) -> float:
        ahead = [other for other in heights if (other > height) == up and other != height]
        if not ahead:
            return 0.0 if up else weight * small_lamp((0, 0, 0), UP, np.array([0, 0, way + height]), np.array(DOWN))
        if turns > 12:
            return 0.0
        nearest = min(ahead) if up else max(ahead)
        way += abs(nearest - height)
        on = arriving(nearest, up, weight * (1 - back), way, turns)
        return on + arriving(nearest, not up, weight * back, way, turns + 1)

    return setup_of(text), arriving(0.5, False, 1.0, 0.0, 0)


@pytest.mark.parametrize("case", [a_wedge, a_box, three_panes])
def test_intervals_cover(case: Callable[[], tuple[Setup, float]]) -> None:
    setup, truth = case()
    wide, covered = float(t.ppf(0.975, REPLICATES - 1)), 0
    for seed in range(SEEDS):
        found = estimate(group_values(setup.result(PHOTONS, seed), "sensor", "meter").sum(axis=(1, 2)))
        covered += abs(float(found.mean) - truth) < wide * float(found.se)
    assert covered in COVERED
