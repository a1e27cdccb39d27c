"""The law of woven screens against real round wires, traced as geometry.

Two crossed layers of straight round wires by the rays of the program, bounces off the wires by the test; nothing of the
law is used. The wires are those of an insect screen, 16 to an inch (pitch 25.4 mm / 16, ASTM E2016), 0.2794 mm thick.
"""

from functools import cache

import numpy as np
import pytest

from sim.screens.weave import direct_transmittance
from sim.screens.wires import scattered_shares
from tests.support.wires_as_geometry import FloatArray, Tracks, Wires, straight_wires, trace, woven_wires

PITCH, WIRE = 25.4e-3 / 16, 0.2794e-3
FILL = (WIRE / PITCH, WIRE / PITCH)
RAYS = 200_000
NOISE = 0.004
"""Three to four standard errors of a share near a half among so many rays."""
ANGLES = [(0, 0), (45, 45), (60, 20)]


def falling(polar_deg: float, azimuth_deg: float) -> FloatArray:
    polar, azimuth = np.radians(polar_deg), np.radians(azimuth_deg)
    return np.array([np.sin(polar) * np.cos(azimuth), np.sin(polar) * np.sin(azimuth), -np.cos(polar)])


@cache
def insect_screen() -> Wires:
    return straight_wires((PITCH, PITCH), (WIRE, WIRE))


@cache
def tracks(polar: float, azimuth: float) -> Tracks:
    return trace(insect_screen(), falling(polar, azimuth), RAYS, seed=11)


@pytest.mark.parametrize(("polar", "azimuth"), ANGLES)
def test_direct_light(polar: float, azimuth: float) -> None:
    assert tracks(polar, azimuth).direct == pytest.approx(
        float(direct_transmittance(FILL, falling(polar, azimuth))), abs=0.006
    )


# What the law leaves out for white wires: where on the wires light lands that comes through gaps, and to which side
# light goes off several wires. Up to 60 degrees 0.006 of the light, at 70 degrees 0.015.
LEFT_OUT = {0: 0.006, 45: 0.006, 60: 0.006, 70: 0.015}


@pytest.mark.parametrize("reflectance", [0.0, 0.3, 0.6, 0.9, 1.0])
@pytest.mark.parametrize(("polar", "azimuth"), [*ANGLES, (70, 10)])
def test_light_off_matt_wires(polar: int, azimuth: float, reflectance: float) -> None:
    traced_back, traced_on = tracks(polar, azimuth).shares(reflectance)
    back, on = scattered_shares(FILL, reflectance, falling(polar, azimuth))
    assert (traced_back, traced_on) == pytest.approx(
        (float(back), float(on)), abs=NOISE + reflectance * LEFT_OUT[polar]
    )
    # All that is scattered, whatever the side, is better known than its parts.
    assert traced_back + traced_on == pytest.approx(float(back + on), abs=NOISE)


def test_unlike_wires() -> None:
    wires = straight_wires((2e-3, 1e-3), (0.5e-3, 0.1e-3), count=14)
    fill, light = (0.25, 0.1), falling(50, 70)
    found = trace(wires, light, RAYS, seed=12)
    assert found.direct == pytest.approx(float(direct_transmittance(fill, light)), abs=0.006)
    back, on = scattered_shares(fill, 0.9, light)
    assert found.shares(0.9) == pytest.approx((float(back), float(on)), abs=NOISE + 0.008)


@pytest.mark.parametrize(("polar", "azimuth"), ANGLES)
def test_mirror_wires_send_more_on_and_less_back(polar: float, azimuth: float) -> None:
    """Polished wire of reflectance 0.6, of which the law makes matt wire: 0.02 to 0.04 of the light changes sides."""
    traced_back, traced_on = trace(insect_screen(), falling(polar, azimuth), RAYS, seed=13, mirror=True).shares(0.6)
    back, on = scattered_shares(FILL, 0.6, falling(polar, azimuth))
    assert 0.01 < traced_on - float(on) < 0.03
    assert 0.01 < float(back) - traced_back < 0.04
    assert traced_back + traced_on == pytest.approx(float(back + on), abs=0.012)


@pytest.mark.parametrize(("polar", "azimuth", "darker"), [(0, 0, 0.005), (45, 45, 0.012), (60, 20, 0.018)])
def test_woven_cloth_is_a_little_darker_than_two_layers(polar: float, azimuth: float, darker: float) -> None:
    """Crimped wires along half waves. Plain weave and twill differ by less than either does from straight wires."""
    expected = float(direct_transmittance(FILL, falling(polar, azimuth)))
    plain, twill = (
        trace(woven_wires(PITCH, WIRE, over), falling(polar, azimuth), RAYS, seed=14, cells=2 * over).direct
        for over in (1, 2)
    )
    assert expected - darker < plain < expected + NOISE
    assert expected - darker < twill < expected + NOISE
    assert abs(plain - twill) < NOISE + 0.5 * darker
