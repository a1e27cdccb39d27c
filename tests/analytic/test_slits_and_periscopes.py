"""Light that gets to a meter by one way alone: a slit, two mirrors, a ball, and layers between mirrors that never end.

Four standard errors (a right program fails once in 16,000), and a bound on these.
"""

import math

import numpy as np
import pytest

from sim.tally.statistics import estimate
from tests.support.mirror_light import DOWN, mirror
from tests.support.scene_blocks import Triple, ball, box, matt, panel, plate, point, scene, spot
from tests.support.setups import group_values, setup_of

SEED = 3
LONG = 60.0
"""Half the length of what stands for an endless strip [m]."""


def assert_near(expected: float, text: str, photons: int, most: float) -> None:
    found = estimate(group_values(setup_of(text).result(photons, SEED), "sensor", "meter").sum(axis=(1, 2)))
    assert float(found.se) < most * expected
    assert abs(float(found.mean) - expected) < 4.0 * float(found.se)


@pytest.mark.parametrize("tilt", [0.0, 0.5])
def test_a_strip_of_light_through_a_slit(tilt: float) -> None:
    """An endless matt strip brings half of its exitance times the difference of the sines of its edges' angles to the
    normal (J. Howell, A Catalog of Radiation Heat Transfer Configuration Factors, element to a strip). Here the slit's
    left edge and the lamp's right one bound what is seen.
    """
    half, left, right = 0.4, 0.1, 0.25
    lamp = panel((-half, -LONG, 1.0), (0, 2 * LONG, 0), (2 * half, 0, 0), 4.0 * half * LONG)
    shades = (
        plate("left", (left - 5.0, -LONG, 0.5), (5.0, 0, 0), (0, 2 * LONG, 0)),
        plate("right", (right, -LONG, 0.5), (5.0, 0, 0), (0, 2 * LONG, 0)),
    )
    meter = point("meter", (0, 0, 0), (math.sin(tilt), 0, math.cos(tilt)))
    near, far = math.atan2(left, 0.5) - tilt, math.atan2(half, 1.0) - tilt
    text = scene("A slit", lamp, *shades, meter, histories=1, receiver_size=10.0)
    assert_near(0.5 * (math.sin(far) - math.sin(near)), text, 4_000, 5e-3)


def test_a_periscope() -> None:
    """Two mirrors at 45 degrees show a small lamp as far off as the way by both is long, twice dimmed."""
    q = 0.05 * math.sqrt(2.0)
    mirrors = [
        plate(name, (0.5 - q, -0.1, height - q), (2 * q, 0, 2 * q), (0, 0.2, 0), mirror(0.8))
        for name, height in (("low", 0.0), ("high", 0.4))
    ]
    shade = plate("shade", (0.25, -0.3, 0.05), (0, 0.6, 0), (0, 0, 0.3))
    meter = point("meter", (1.0, 0, 0.4), (-1, 0, 0))
    text = scene("A periscope", spot((0, 0, 0), (1, 0, 0), 1e-3), *mirrors, shade, meter, histories=1)
    assert_near(0.8**2 / (math.pi * 1.4**2), text, 400, 2e-3)


def from_ball(radius: float, distance: float, angle: float) -> float:
    """Irradiance [m-2] per watt and reflectance off a matt ball, by a sum over what of it both lamp and meter see."""
    z, around = np.meshgrid(np.linspace(-1, 1, 801)[1::2], np.linspace(0, 2 * np.pi, 801)[1::2], indexing="ij")
    normal = np.stack([np.sqrt(1 - z * z) * np.cos(around), np.sqrt(1 - z * z) * np.sin(around), z], axis=-1)
    light = np.full(z.shape, 4.0 * np.pi * radius**2 / z.size)
    for axis in (np.array([0.0, 0.0, 1.0]), np.array([math.sin(angle), 0.0, math.cos(angle)])):
        way = distance * axis - radius * normal
        length = np.linalg.norm(way, axis=-1)
        cosines = np.maximum(0.0, (way * normal).sum(axis=-1)) * np.maximum(0.0, way @ axis)
        light *= cosines / (np.pi * length**4)
    return float(light.sum())


@pytest.mark.parametrize("degrees", [40, 90, 120])
def test_the_phases_of_a_matt_ball(degrees: int) -> None:
    """Far off that is Lambert's law of phases (J. H. Lambert, Photometria, 1760); here both are near."""
    angle, distance, radius = math.radians(degrees), 0.25, 0.05
    law = 2.0 / (3.0 * math.pi**2) * (math.sin(angle) + (math.pi - angle) * math.cos(angle))
    assert from_ball(1.0, 1e3, angle) == pytest.approx(law / 1e3**4, rel=0.01)
    meter: Triple = (distance * math.sin(angle), 0.0, distance * math.cos(angle))
    # A small shade halfway from the lamp to the meter, square to that way, keeps straight light off.
    out = np.array([math.sin(0.5 * angle), 0.0, math.cos(0.5 * angle)])
    corner = (distance * math.cos(0.5 * angle) - 0.01) * out - np.array([0.0, 0.01, 0.0])
    shade = plate("shade", (corner[0], corner[1], corner[2]), (0, 0.02, 0), (0.02 * out[0], 0, 0.02 * out[2]))
    text = scene(
        "A ball",
        spot((0, 0, distance), DOWN, 1e-4),
        ball("ball", (0, 0, 0), radius, matt(0.8)),
        point("meter", meter, (-meter[0], 0.0, -meter[2])),
        shade,
        histories=1,
    )
    assert_near(0.8 * from_ball(radius, distance, angle), text, 8_000, 0.03)


@pytest.mark.parametrize(("floor", "back", "on"), [(0.5, 0.4, 0.3), (0.9, 0.2, 0.75)])
def test_a_leaf_between_mirrors(floor: float, back: float, on: float) -> None:
    """White mirrors around make endless planes: what is between leaf and floor adds up to a geometric series."""
    side, height, middle = 0.3, 0.4, 0.2
    leaf = f'{{ kind = "leaf", reflectance = {back}, transmittance = {on} }}'
    arrives = on / (1.0 - back * floor)
    text = scene(
        "Layers",
        box((side, side, height), {"all": mirror(1.0), "floor": matt(floor), "ceiling": '"black"'}),
        panel((0, 0, height - 1e-6), (0, side, 0), (side, 0, 0), side**2),
        plate("leaf", (0, 0, middle), (side, 0, 0), (0, side, 0), leaf),
        point("low", (0.11, 0.2, 1e-3)),
        point("high", (0.1, 0.14, 0.25), (0, 0, -1)),
        histories=1,
        receiver_size=side,
    )
    result = setup_of(text).result(500, SEED)
    expected = {"low": arrives, "high": back + on * floor * arrives}
    found = {name: estimate(group_values(result, "sensor", name).sum(axis=(1, 2))) for name in expected}
    found["floor"], expected["floor"] = estimate(group_values(result, "surface", "floor").sum(axis=(1, 2))), arrives
    for name, each in found.items():
        assert float(each.se) < 0.02 * expected[name]
        assert abs(float(each.mean) - expected[name]) < 4.0 * float(each.se)
