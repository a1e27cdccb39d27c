"""Angular laws of spots: directions drawn have the density that is looked up, and it is the law's."""

from dataclasses import replace

import numpy as np
import pytest

from sim.compile.emitters import pack_emitters
from sim.lamps.distribution import Distribution, beam_distribution
from sim.lamps.lamp import LampShape
from sim.transport.arrays import F64
from tests.support.kernel_loops import beam_densities, emission_samples, uniform_block
from tests.support.photometric_files import lopsided, values
from tests.support.significance import chi_square, sidak
from tests.support.sizes import sized
from tests.unit.lamps.lamp_specs import PANEL, SPOT, lamp

pytestmark = pytest.mark.tiny

FALSE_ALARM = 0.001
"""Significance of all tests of one function together."""
ROUND = np.array([0.0, 2.0 * np.pi])
UNEVEN = [0.0, 20.0, 45.0, 50.0, 130.0, 260.0, 360.0]
COARSE = [0.0, 4.0, 10.0, 30.0, 60.0, 90.0]


def table(polar: list[float], azimuth: list[float], intensity: F64) -> Distribution:
    return Distribution(np.radians(polar), np.radians(azimuth), intensity)


DARK = np.array([[0, 0, 0], [5, 0, 5], [0, 0, 0], [0, 0, 0], [1, 3, 1], [0, 2, 0]], dtype=np.float64)
LAWS = {
    "narrow": beam_distribution(np.radians(8.0)),
    "wide": beam_distribution(np.radians(110.0)),
    "even over the half-space": Distribution(np.radians([0.0, 90.0]), ROUND, np.ones((2, 2))),
    "bright to a hard edge": Distribution(np.radians([0.0, 30.0]), ROUND, np.array([[1.0, 1.0], [3.0, 3.0]])),
    "ring": Distribution(np.radians([20.0, 40.0, 50.0]), ROUND, np.array([[0.0, 0.0], [1.0, 1.0], [0.0, 0.0]])),
    "lopsided": table(COARSE, UNEVEN, values(lopsided, COARSE, UNEVEN).T),
    "with dark rings and sides": table(COARSE, [0.0, 90.0, 360.0], DARK),
}


def shapes_of(name: str) -> list[LampShape]:
    """A spot of the law that looks askance, behind another lamp and another law."""
    aslant = lamp(SPOT, facing=[1, 2, -3]).shape()
    return [lamp(PANEL).shape(), lamp(SPOT).shape(), replace(aslant, directions=LAWS[name])]


def angles(shape: LampShape, directions: F64) -> tuple[F64, F64]:
    assert shape.axes is not None
    x, y, z = shape.axes @ directions.T
    return np.arctan2(np.hypot(x, y), z), np.mod(np.arctan2(y, x), 2.0 * np.pi)


@pytest.mark.parametrize("name", LAWS)
def test_density_is_the_law_at_unit_power(name: str) -> None:
    shapes = shapes_of(name)
    rng = np.random.Generator(np.random.PCG64(5))
    directions = rng.standard_normal((sized(20_000, 500), 3))
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    found = np.zeros(len(directions))
    beam_densities(pack_emitters(shapes, np.ones((3, 1))), 2, directions, found)
    law = LAWS[name]
    expected = law.at(*angles(shapes[2], directions)) / law.power
    np.testing.assert_allclose(found, expected, atol=1e-9 * expected.max())


def cell_shares(law: Distribution, polar: F64, azimuth: F64, nodes: int) -> F64:
    """Share of the power in each cell, by Gauss-Legendre between all the law's own nodes."""
    edges = [np.union1d(polar, law.polar), np.union1d(azimuth, law.azimuth)]
    points, weights = np.polynomial.legendre.leggauss(nodes)
    places = [(side[:-1, None] + 0.5 * (points + 1.0) * np.diff(side)[:, None]).ravel() for side in edges]
    sizes = [(0.5 * weights * np.diff(side)[:, None]).ravel() for side in edges]
    p, a = np.meshgrid(*places, indexing="ij")
    power = law.at(p.ravel(), a.ravel()).reshape(p.shape) * np.sin(p) * sizes[0][:, None] * sizes[1] / law.power
    return np.histogram2d(p.ravel(), a.ravel(), bins=[polar, azimuth], weights=power.ravel())[0]


@pytest.mark.parametrize("name", LAWS)
def test_directions_have_that_density(name: str) -> None:
    count = sized(400_000, 2_000)
    shapes, law = shapes_of(name), LAWS[name]
    rows, points, directions = np.zeros(count, dtype=np.int64), np.zeros((count, 3)), np.zeros((count, 3))
    emission_samples(pack_emitters(shapes, np.ones((3, 1))), 2, uniform_block(count, 5, 8), rows, points, directions)
    np.testing.assert_allclose(np.linalg.norm(directions, axis=1), 1.0, atol=1e-12)
    polar, azimuth = angles(shapes[2], directions)
    assert polar.min() >= law.polar[0] - 1e-7
    assert polar.max() <= law.polar[-1] + 1e-7
    # Edges at equal shares of the power, so that a narrow beam fills as many cells as a wide one.
    bins = sized(24, 5)
    edges = np.interp(np.linspace(0.0, 1.0, bins + 1), law.below() / law.power, law.polar)
    edges[[0, -1]] = law.polar[0] - 1e-6, law.polar[-1] + 1e-6
    round_edges = np.linspace(0.0, 2.0 * np.pi * (1.0 + 1e-12), bins + 1)
    expected = cell_shares(law, edges, round_edges, 8)
    assert expected.sum() == pytest.approx(1.0, abs=1e-7)
    seen = np.histogram2d(polar, azimuth, bins=[edges, round_edges])[0]
    assert chi_square(seen, count * expected) > sidak(FALSE_ALARM, len(LAWS))
    assert float(seen[expected < 1e-14].sum()) == 0.0


def test_inversion_meets_the_ends() -> None:
    """Random numbers next to 0 and 1 give directions within the law, at its first and last angle."""
    shapes = shapes_of("lopsided")
    u = np.array([[0.5, 0.5, 0.5, a, b] for a in (1e-12, 1.0 - 1e-12) for b in (1e-12, 1.0 - 1e-12)])
    rows, points, directions = np.zeros(4, dtype=np.int64), np.zeros((4, 3)), np.zeros((4, 3))
    emission_samples(pack_emitters(shapes, np.ones((3, 1))), 2, u, rows, points, directions)
    polar, _ = angles(shapes[2], directions)
    assert polar == pytest.approx([0.0, 0.0, 0.5 * np.pi, 0.5 * np.pi], abs=1e-5)
