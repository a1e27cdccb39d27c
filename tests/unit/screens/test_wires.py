"""Light off the wires of a screen: the closed form of a lone wire, books that close, and an isothermal enclosure."""

import numpy as np
import pytest

from sim.screens.by_angle import shares_by_angle
from sim.screens.weave import direct_transmittance
from sim.screens.wires import caught_by_set, matt_shares, scattered_shares, wire_tables
from sim.transport.arrays import F64


def directions(count: int) -> F64:
    drawn = np.random.Generator(np.random.PCG64(3)).standard_normal((count, 3))
    unit: F64 = drawn / np.linalg.norm(drawn, axis=1, keepdims=True)
    return unit


@pytest.mark.parametrize("degrees", [0.0, 30.0, 60.0, 80.0])
def test_a_lone_matt_wire_returns_its_known_share(degrees: float) -> None:
    """``1/2 + (pi/8) cos t`` of what it scatters goes to the lit side: integral over the lit half of a round wire."""
    slanted = np.array([0.0, np.sin(np.radians(degrees)), np.cos(np.radians(degrees))])
    back, on = scattered_shares((1e-4, 1e-9), 0.8, slanted)
    assert float(back / (back + on)) == pytest.approx(0.5 + np.pi / 8 * np.cos(np.radians(degrees)), abs=1e-3)


@pytest.mark.parametrize("fill", [(0.176, 0.176), (0.05, 0.4), (0.7, 0.7)])
def test_white_wires_lose_nothing_and_black_ones_return_nothing(fill: tuple[float, float]) -> None:
    light = directions(2000)
    caught = 1.0 - direct_transmittance(fill, light)
    back, on = scattered_shares(fill, 1.0, light)
    np.testing.assert_allclose(back + on, caught, atol=1e-12)
    np.testing.assert_allclose(sum(caught_by_set(fill, light)), caught, atol=1e-12)
    assert (0.0, 0.0) == tuple(float(side.max()) for side in scattered_shares(fill, 0.0, light))
    assert np.all(back >= on - 1e-3)


@pytest.mark.parametrize("fill", [(0.176, 0.176), (0.1, 0.3)])
@pytest.mark.parametrize("reflectance", [0.3, 1.0])
def test_matt_light_is_the_mean_over_directions(fill: tuple[float, float], reflectance: float) -> None:
    light = directions(200_000)
    back, on = scattered_shares(fill, reflectance, light)
    weight = np.abs(light[:, 2])
    means = [np.average(share, weights=weight) for share in (back, direct_transmittance(fill, light) + on)]
    # Two hundred thousand random directions: a standard error of about 0.0003.
    assert means == pytest.approx([float(share) for share in matt_shares(fill, np.array(reflectance))], abs=0.0015)


def test_what_glowing_wires_hide_of_each_other_is_known_for_one_set() -> None:
    """A row of tubes, H. C. Hottel: F = 1 - sqrt(1 - f^2) + f atan(sqrt(1 - f^2) / f) from a plane to it."""
    f = 0.3
    known = 1.0 - np.sqrt(1.0 - f * f) + f * np.arctan(np.sqrt(1.0 - f * f) / f)
    tables = wire_tables((f, 1e-9))
    assert tables.caught == pytest.approx(known, abs=1e-4)
    assert tables.again == pytest.approx(1.0 - 2.0 * known / (np.pi * f), abs=1e-4)


def test_shares_by_angle_are_those_of_the_directions() -> None:
    found = shares_by_angle((0.2, 0.1), 0.5, np.radians([0.0, 50.0]), np.radians(90.0))
    slanted = np.array([0.0, np.sin(np.radians(50.0)), np.cos(np.radians(50.0))])
    back, on = scattered_shares((0.2, 0.1), 0.5, slanted)
    assert (found.straight[1], found.on[1], found.back[1]) == pytest.approx(
        (float(direct_transmittance((0.2, 0.1), slanted)), float(on), float(back)), abs=1e-12
    )
