"""Light of a lopsided spot at meters, straight and by a mirror, against integrals over its aperture by numpy."""

import numpy as np
import pytest
from scipy.stats import t

from sim.lamps.distribution import Distribution
from sim.simulate.tallies import REPLICATES
from sim.tally.statistics import estimate
from sim.transport.arrays import F64
from tests.support.photometric_files import lm63, lopsided, values, written
from tests.support.setups import Setup, by_paths, group_values, setup_of
from tests.support.significance import sidak

FALSE_ALARM = 0.001
MIRROR = 0.9
VERTICAL = [0.0, 5.0, 15.0, 30.0, 45.0, 60.0, 75.0, 90.0]
HORIZONTAL = [0.0, 40.0, 90.0, 150.0, 200.0, 270.0, 330.0, 360.0]
CENTRE = np.array([0.35, 0.3, 0.45])
FACING = np.array([0.36, -0.48, -0.8])
RADIUS = 0.03
METERS = {
    "below": (0.4, 0.25, 0.02),
    "near": (0.39, 0.25, 0.36),
    "askance": (0.1, 0.1, 0.1),
    "beside": (0.75, 0.5, 0.2),
}
SCENE = """
title = "A lopsided spot in a black room with one mirror"
[enclosure]
size = ["80 cm", "60 cm", "50 cm"]
walls = {{ all = "black", left = "bright" }}
[laws.bright]
kind = "mirror"
reflectance = {mirror}
[[lamps]]
name = "spot"
kind = "spot"
at = ["35 cm", "30 cm", "45 cm"]
facing = [0.36, -0.48, -0.8]
diameter = "6 cm"
distribution = "{file}"
turn = "30 deg"
body = "black"
spectrum = {{ lines = [{{ at = "313 nm" }}] }}
output = {{ radiant = "2 W" }}
{meters}
[animal]
reach = []
[run]
receiver_size = "50 cm"
"""
METER = '[[sensors]]\nname = "{}"\nkind = "point"\nat = ["{} m", "{} m", "{} m"]\nnormal = [0, 0, 1]'


@pytest.fixture(scope="module")
def setup(tmp_path_factory: pytest.TempPathFactory) -> Setup:
    text = lm63(values(lopsided, VERTICAL, HORIZONTAL), VERTICAL, HORIZONTAL)
    path = written(tmp_path_factory.mktemp("spot"), "lopsided.ies", text)
    meters = "\n".join(METER.format(name, *at) for name, at in METERS.items())
    return setup_of(SCENE.format(mirror=MIRROR, file=path, meters=meters))


def bilinear(polar: F64, azimuth: F64) -> F64:
    """The law between its nodes, by two numpy interpolations."""
    table = values(lopsided, VERTICAL, HORIZONTAL)
    rows = np.stack([np.interp(np.degrees(polar), VERTICAL, row) for row in table])
    return np.array([np.interp(at, HORIZONTAL, column) for at, column in zip(np.degrees(azimuth), rows.T, strict=True)])


def power() -> float:
    polar, azimuth = np.radians(VERTICAL), np.radians(HORIZONTAL)
    return Distribution(polar, azimuth, values(lopsided, VERTICAL, HORIZONTAL).T).power


def irradiance(x: F64, flip: float = 1.0) -> float:
    """Irradiance per watt at a meter that faces up, by a fine polar grid over the aperture; flip = -1 for the image."""
    along = np.array([1.0, 0.0, 0.0]) - FACING[0] * FACING
    along /= np.linalg.norm(along)
    across = np.cross(FACING, along)
    zero = np.cos(np.radians(30.0)) * along + np.sin(np.radians(30.0)) * across
    quarter = -np.cross(FACING, zero)
    s = (np.arange(200) + 0.5) / 200
    radius, angle = (grid.ravel() for grid in np.meshgrid(RADIUS * np.sqrt(s), 2.0 * np.pi * s))
    points = CENTRE + (radius * np.cos(angle))[:, None] * along + (radius * np.sin(angle))[:, None] * across
    image = np.array([flip, 1.0, 1.0])
    way = x - points * image
    distance = np.linalg.norm(way, axis=1)
    d = way / distance[:, None]
    # What arrives along d from the image left the lamp along the mirrored direction.
    out = d * image
    z = out @ FACING
    polar = np.arccos(np.clip(z, -1.0, 1.0))
    azimuth = np.mod(np.arctan2(out @ quarter, out @ zero), 2.0 * np.pi)
    arriving = np.maximum(-d[:, 2], 0.0)
    return float(np.mean(np.where(z > 0.0, bilinear(polar, azimuth), 0.0) * arriving / distance**2)) / power()


@pytest.mark.parametrize("seed", [3, 4])
def test_meters_read_the_integral_over_the_aperture(setup: Setup, seed: int) -> None:
    result = by_paths(setup).result(2000, seed)
    limit = float(t.isf(0.5 * sidak(FALSE_ALARM, 2 * len(METERS)), REPLICATES - 1))
    for name, at in METERS.items():
        x = np.array(at)
        expected = 2.0 * (irradiance(x) + MIRROR * irradiance(x, flip=-1.0))
        found = estimate(group_values(result, "sensor", name).sum(axis=(1, 2)))
        # The grid over the aperture and the prism's outline leave a few parts in ten thousand.
        assert float(found.se) < 0.01 * expected
        assert float(found.mean) == pytest.approx(expected, abs=limit * float(found.se) + 1e-3 * expected), name


def test_energy_is_whole(setup: Setup) -> None:
    energy = setup.result(500, 5).energy
    assert energy.emitted.sum() == pytest.approx(2.0)
    assert energy.absorbed.sum() + energy.escaped.sum() == pytest.approx(2.0, rel=1e-12)
