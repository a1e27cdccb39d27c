"""Sheets of a bare lamp: its planes against points, and its light's shares against its spectrum's own.

The share of the erythema weighting below 298 nm is integrated here by the definition (CIE S 007/E:1998).
"""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from sim.analysis.fixture import FixtureTrace
from sim.scene.load import load_scene
from sim.simulate.fixture import trace_fixture
from sim.simulate.fixture_bench import Effort
from tests.support.significance import sidak
from tests.support.synthetic_result import reference_erythema

SCENE = load_scene(Path(__file__).resolve().parents[2] / "scenes" / "tube-reflectors.toml")
DISTANCES = np.array([0.1125, 0.3125, 0.6])
"""The first two lie in the middle of rows of the planes."""


@pytest.fixture(scope="module")
def bare() -> FixtureTrace:
    lamp = next(lamp for lamp in SCENE.lamps if lamp.name == "bare")
    with ThreadPoolExecutor(max_workers=2) as pool:
        return trace_fixture(SCENE, lamp, DISTANCES, Effort(400_000, 3, pool), planes=True)


def test_planes_read_in_their_middle_what_points_read(bare: FixtureTrace) -> None:
    points = bare.uvi_at_power()
    widest = float(norm.isf(0.5 * sidak(0.001, 4)))
    for plane in bare.planes:
        rows, columns = plane.uvi.shape[1:]
        step = (plane.distance[1] - plane.distance[0]) / rows
        assert (24, 40) == (rows - round(-plane.distance[0] / step), columns)
        # The two cells on both sides of the middle.
        found = bare.at_power(plane.uvi[:, :, columns // 2 - 1 : columns // 2 + 1].mean(axis=2))
        for index in (0, 1):
            row = int((DISTANCES[index] - plane.distance[0]) / step)
            error = float(np.hypot(found.se[row], points.se[index]))
            # Cells reach 6 cm from the middle: light falls by as much as 1/(1 + x²/d²) on average over them.
            blur = (0.06 / DISTANCES[index]) ** 2
            excess = abs(float(found.mean[row]) / float(points.mean[index]) - 1.0) - blur
            assert excess * float(points.mean[index]) < widest * error, (plane.side, index)


def test_a_plane_across_is_symmetric_and_shows_the_body(bare: FixtureTrace) -> None:
    across, along = bare.planes
    assert ("across", "along") == (across.side, along.side)
    # A tube of 16 mm, cut square: a circle about the middle; cut lengthwise: its own length, dark ends included.
    reach = np.abs(across.lines).max(axis=(0, 1))
    np.testing.assert_allclose(reach, (0.008, 0.008), rtol=0.01)
    assert np.abs(along.lines[:, :, 0]).max() >= 0.27
    found = bare.at_power(across.uvi)
    left, right = found.mean[-10:], found.mean[-10:, ::-1]
    error = np.sqrt(np.nanmean((found.se[-10:]) ** 2) * 2.0)
    # The mean of 200 differences, each of them twice in it.
    assert abs(float((left - right)[:, :20].mean())) < 4.0 * error / np.sqrt(200)


def test_shares_are_those_of_the_spectrum(bare: FixtureTrace) -> None:
    wavelength = np.linspace(250.0, 400.0, 150_001)
    spectrum = bare.record.spectrum
    weighted = spectrum.density_at(wavelength) * reference_erythema(wavelength)
    lines = spectrum.line_power * reference_erythema(spectrum.line_nm)
    below = wavelength <= 298.0
    whole = np.trapezoid(weighted, wavelength) + lines.sum()
    part = np.trapezoid(weighted[below], wavelength[below]) + lines[spectrum.line_nm < 298.0].sum()
    for row in range(len(DISTANCES)):
        assert bare.share_below_298(row).value == pytest.approx(part / whole, rel=1e-3)
    inside = (wavelength >= 280.0) & (wavelength <= 320.0)
    at = (spectrum.line_nm >= 280.0) & (spectrum.line_nm <= 320.0)
    uvb = np.trapezoid(spectrum.density_at(wavelength[inside]), wavelength[inside]) + spectrum.line_power[at].sum()
    ratio = bare.uvb_at_power().mean / bare.uvi_at_power().mean
    np.testing.assert_allclose(ratio, uvb / (40.0 * whole), rtol=1e-3)
