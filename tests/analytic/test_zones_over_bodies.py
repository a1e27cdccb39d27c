"""A zone over a ball below a small matt lamp, against integrals over the sphere at the height of an animal's back.

Looking as the ball does, light on the lit cap is what the lamp sends to the sphere: a small element that faces a sphere
of radius R from a distance D between the centres sends it the share (R / D)^2 (J. Howell, A Catalog of Radiation Heat
Transfer Configuration Factors, small element to a sphere). Looking up, each place's light is one cosine law more,
integrated over the height, which is spread evenly on a sphere (Archimedes). The ball is made of facets, those around
its middle stand upright and are no part of the zone: how large it is, is taken from the result.
"""

import math
from collections.abc import Callable

import pytest
from scipy.integrate import quad

from sim.tally.statistics import estimate
from tests.support.mirror_light import DOWN
from tests.support.scene_blocks import ball, scene, spot
from tests.support.setups import group_values, setup_of

BALL, ABOVE, SPOT = 0.05, 0.4, 1e-3
FACETS = 4e-3
"""What it makes that the ball is one of facets, and each part of the zone looks one way."""


def looking_along(height: float, share: float) -> float:
    """Mean irradiance [m-2] per watt over so much of the upper half of the sphere, looking as the ball does."""
    return 1.0 / (2.0 * math.pi * share * ABOVE**2)


def looking_up(height: float, share: float) -> float:
    """Mean irradiance [m-2] per watt over so much of the upper half of the sphere, looking up."""
    radius = BALL + height

    def at(z: float) -> float:
        return (ABOVE - z) ** 2 / (math.pi * (ABOVE**2 + radius**2 - 2.0 * ABOVE * z) ** 2)

    return float(quad(at, (1.0 - share) * radius, radius)[0]) / (share * radius)


@pytest.mark.parametrize(
    ("facing", "height", "mean"),
    [("surface", 0.0, looking_along), ("surface", 0.02, looking_along), ("up", 0.02, looking_up)],
)
def test_mean_over_the_upper_half_of_a_ball(facing: str, height: float, mean: Callable[[float, float], float]) -> None:
    zone = f'[[zones]]\nname = "zone"\nrole = "basking"\nsurface = "ball"\nheight = "{height!r} m"\nfacing = "{facing}"'
    text = scene("A ball", spot((0, 0, ABOVE), DOWN, SPOT), ball("ball", (0, 0, 0), BALL), zone, histories=1)
    result = setup_of(text).result(256, 3)
    found = estimate(group_values(result, "zone", "zone").sum(axis=(1, 2)))
    expected = mean(height, float(result.area[result.group("zone", "zone").rows].sum()) / (2.0 * math.pi * BALL**2))
    assert found.se < FACETS * expected
    assert abs(float(found.mean) - expected) < 4.0 * float(found.se) + FACETS * expected
