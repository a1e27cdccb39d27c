"""Lamps of a millimetre among several plane mirrors: all images are there, and each of them once.

Two mirrors at 360 / n degrees, n even, show n - 1 images (D. Brewster, A treatise on the kaleidoscope, 1819); two that
face each other, and a closed box of six, an endless lattice (J. Allen, D. Berkley, J. Acoust. Soc. Am. 65:943, 1979).
No path hits a lamp as small as that, so what images of images leave out is missed. Four standard errors (a right
program fails once in 16,000), and a bound on these, lest they hide what is missing.
"""

import math

import numpy as np
import pytest

from sim.tally.statistics import estimate
from tests.support.mirror_light import DOWN, SIDE, box_images, mirror, small_lamp, sum_of, wedge, wedge_images
from tests.support.scene_blocks import Triple, box, plate, point, scene, spot
from tests.support.setups import group_values, setup_of

SEED = 3
SPOT = 1e-3
UP: Triple = (0.0, 0.0, 1.0)


def irradiance(text: str, photons: int = 256) -> tuple[float, float]:
    """Reading of the meter and its standard error."""
    found = estimate(group_values(setup_of(text).result(photons, SEED), "sensor", "meter").sum(axis=(1, 2)))
    return float(found.mean), float(found.se)


def assert_near(expected: float, text: str, most: float) -> None:
    value, se = irradiance(text)
    assert se < most * expected
    assert abs(value - expected) < 4.0 * se + 1e-5 * expected  # the spot is a disc of 24 sides, not a point


@pytest.mark.parametrize("parts", [2, 3, 4, 5])
def test_two_mirrors_at_an_angle(parts: int) -> None:
    low, high = 0.4 * math.pi / parts, 0.7 * math.pi / parts
    lamp = (0.3 * math.cos(low), 0.3 * math.sin(low), 0.3)
    x = (0.4 * math.cos(high), 0.4 * math.sin(high), 0.0)
    images = list(wedge_images(parts, lamp, x))
    assert len(images) == 2 * parts
    text = scene("A kaleidoscope", spot(lamp, DOWN, SPOT), *wedge(parts), point("meter", x), histories=1)
    assert_near(sum_of(iter(images), 0.8, x, UP), text, 1e-3)


@pytest.mark.parametrize("reflectance", [0.5, 0.9])
def test_two_mirrors_face_each_other(reflectance: float) -> None:
    x: Triple = (0.6, 0.0, 0.0)
    expected = 0.0
    for order in range(-200, 201):
        for place, turns in ((2 * order + 0.3, abs(2 * order)), (2 * order - 0.3, abs(2 * order - 1))):
            expected += reflectance**turns * small_lamp(x, UP, np.array([place, 0.0, 0.5]), np.array(DOWN))
    walls = [
        plate(name, (at, -SIDE / 2, -1), (0, SIDE, 0), (0, 0, SIDE), mirror(reflectance))
        for name, at in (("left", 0.0), ("right", 1.0))
    ]
    text = scene("Two mirrors", spot((0.3, 0, 0.5), DOWN, SPOT), *walls, point("meter", x), histories=1)
    assert_near(expected, text, 1e-3)


@pytest.mark.parametrize("reflectance", [0.5, 0.8])
def test_a_box_of_six_mirrors(reflectance: float) -> None:
    """Of many thousand images of one order a place sees but some hundreds, each by one of many chains."""
    size, lamp, x = (1.0, 0.8, 0.6), (0.3, 0.3, 0.5), (0.6, 0.45, 1e-3)
    expected = sum_of(box_images(size, lamp, 60), reflectance, x, UP)
    walls = box(size, {"all": mirror(reflectance)})
    assert_near(expected, scene("A box", walls, spot(lamp, DOWN, SPOT), point("meter", x), histories=1), 0.05)
