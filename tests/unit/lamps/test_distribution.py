"""Intensities by direction: interpolation, power, the part in front, and the closed law."""

import numpy as np
import pytest
from scipy.integrate import dblquad

from sim.lamps.distribution import Distribution, beam_distribution

ROUND = np.array([0.0, 2.0 * np.pi])
RAGGED = Distribution(
    np.radians([0.0, 10.0, 35.0, 90.0, 140.0]),
    np.radians([0.0, 100.0, 250.0, 360.0]),
    np.array([[3.0, 3.0, 3.0, 3.0], [5.0, 1.0, 0.0, 5.0], [1.0, 4.0, 2.0, 1.0], [1.0, 0.0, 2.0, 1.0], [0, 0, 1.0, 0]]),
)


def test_power_is_the_integral_of_the_interpolated_law() -> None:
    total = 0.0
    for low, high in zip(RAGGED.polar[:-1], RAGGED.polar[1:], strict=True):
        for left, right in zip(RAGGED.azimuth[:-1], RAGGED.azimuth[1:], strict=True):
            total += dblquad(
                lambda p, t: float(RAGGED.at(np.array([t]), np.array([p]))[0]) * np.sin(t), low, high, left, right
            )[0]
    assert RAGGED.power == pytest.approx(total, rel=1e-9)
    assert RAGGED.below()[-1] == RAGGED.power


def test_uniform_law_shares_light_by_solid_angle() -> None:
    even = Distribution(np.radians([0.0, 60.0, 180.0]), ROUND, np.ones((3, 2)))
    assert even.power == pytest.approx(4.0 * np.pi)
    assert even.below()[1] == pytest.approx(np.pi)
    assert even.share_behind == pytest.approx(0.5)
    assert even.front().power == pytest.approx(2.0 * np.pi)


def test_front_keeps_the_law_up_to_90_degrees() -> None:
    front = RAGGED.front()
    polar, azimuth = np.radians([0.0, 22.0, 60.0, 90.0]), np.radians([10.0, 200.0, 330.0, 130.0])
    assert front.at(polar, azimuth) == pytest.approx(RAGGED.at(polar, azimuth))
    assert front.at(np.radians([91.0]), np.zeros(1)) == 0.0
    assert RAGGED.share_behind == pytest.approx(1.0 - front.power / RAGGED.power)
    assert front.front() is front
    backwards = Distribution(np.radians([90.0, 180.0]), ROUND, np.ones((2, 2)))
    assert backwards.share_behind == 1.0


@pytest.mark.parametrize("degrees", [1.0, 8.0, 40.0, 90.0, 120.0])
def test_beam_angle_is_the_full_angle_at_half_the_peak(degrees: float) -> None:
    law = beam_distribution(np.radians(degrees))
    seen = law.at(np.radians([0.0, 0.5 * degrees]), np.zeros(2))
    assert seen == pytest.approx([1.0, 0.5], rel=1e-4)
    exponent = np.log(0.5) / np.log(np.cos(np.radians(0.5 * degrees)))
    # The integral of cos^n over the hemisphere is 2 pi / (n + 1).
    assert law.power == pytest.approx(2.0 * np.pi / (exponent + 1.0), rel=1e-3)


def test_beam_of_120_degrees_is_the_cosine_law() -> None:
    law = beam_distribution(np.radians(120.0))
    assert law.intensity[:, 0] == pytest.approx(np.cos(law.polar), abs=1e-12)
