"""Rough mirrors return what their reflectance says: light by one facet and light by several, as law and as samples."""

from functools import cache

import numpy as np
import pytest
from scipy.stats import binomtest, kstest

from sim.materials.facets import facet_table, returned_once
from sim.transport import scatter
from sim.transport.arrays import COSINES, F64, SHARE
from sim.transport.parts import LOBE
from tests.support.facet_walk import walk
from tests.support.kernel_loops import (
    lobe_densities,
    multiple_densities,
    multiple_samples,
    scattered,
    uniform_block,
)
from tests.support.law_bench import EDGES_NM, LAW, NORMAL, TANGENT, Bench, arriving, bench
from tests.support.rings_of_light import rings
from tests.support.significance import chi_square, sidak
from tests.support.sizes import COMPILED, sized

pytestmark = pytest.mark.tiny

FALSE_ALARM = 0.001
"""Significance of all tests of one function together."""
ALPHAS = [0.05, 0.1, 0.3, 0.5, 1.0]
ANGLES = [0.0, 35.0, 60.0, 82.0, 89.0]
FRAME = np.stack([TANGENT, np.cross(NORMAL, TANGENT), NORMAL])


@cache
def white() -> Bench:
    laws = {
        str(alpha): LAW.validate_python(
            {"kind": "glossy", "reflectance": 1.0, "specular_share": 1.0, "roughness": alpha}
        )
        for alpha in (1e-3, *ALPHAS)
    }
    return bench(laws, EDGES_NM[[0, -1]])


def facets_of(alpha: float) -> F64:
    row: F64 = white().laws.facets[white().row(str(alpha))]
    return row


def scatter_many(alpha: float, arrival: F64, count: int) -> F64:
    """Directions (n, 3), in the frame of the mirror, of light that arrives along a direction; none may be lost."""
    setup = white()
    directions, after, parts = np.zeros((count, 3)), np.zeros((count, 1)), np.full(count, -99)
    scattered(setup.surfaces, setup.laws, setup.row(str(alpha)), arrival, np.ones(1), 29, directions, after, parts)
    assert np.all(parts == LOBE)
    assert np.all(after == 1.0)
    return directions @ FRAME.T


@pytest.mark.parametrize("degrees", ANGLES)
@pytest.mark.parametrize("alpha", [1e-3, *ALPHAS])
def test_a_white_one_loses_no_photon(alpha: float, degrees: float) -> None:
    """The white furnace: to the last photon, at all angles, and from both sides."""
    for front in (True, False):
        local = scatter_many(alpha, arriving(degrees, front=front), sized(20_000, 200))
        np.testing.assert_allclose(np.linalg.norm(local, axis=1), 1.0, atol=1e-9)
        assert np.all(local[:, 2] > 0.0) if front else np.all(local[:, 2] < 0.0)


def law_values(alpha: float, a: F64, b: F64) -> F64:
    """BRDF (n,) of a white rough mirror between directions (n, 3), per steradian."""
    once, several, density = np.zeros(len(a)), np.zeros(len(a)), np.zeros(len(a))
    lobe_densities(a, b, alpha, density, once)
    multiple_densities(facets_of(alpha), a[:, 2].copy(), b[:, 2].copy(), density, several)
    return once + several


@pytest.mark.parametrize("alpha", [1e-3, *ALPHAS])
def test_the_law_is_reciprocal(alpha: float) -> None:
    rng = np.random.Generator(np.random.PCG64(6))
    pairs = rng.standard_normal((2, sized(5000, 300), 3))
    pairs[:, :, 2] = np.abs(pairs[:, :, 2])
    a, b = pairs / np.linalg.norm(pairs, axis=2, keepdims=True)
    there, back = law_values(alpha, a, b), law_values(alpha, b, a)
    assert there.min() > 0.0
    np.testing.assert_allclose(back, there, rtol=1e-9)


@pytest.mark.parametrize("alpha", [1e-3, *ALPHAS])
def test_paths_and_looks_at_the_lamp_know_the_law_by_one_density(alpha: float) -> None:
    """By one facet it is the BRDF times the cosine, from either side; by several the density of their samples."""
    rng = np.random.Generator(np.random.PCG64(8))
    pairs = rng.standard_normal((50, 2, 3))
    pairs[:, :, 2] = np.abs(pairs[:, :, 2])
    for arrival, out in pairs / np.linalg.norm(pairs, axis=2, keepdims=True):
        density, once, several = np.zeros((3, 1))
        lobe_densities(arrival[None], out[None], alpha, density, once)
        multiple_densities(facets_of(alpha), arrival[2:], out[2:], several, density)
        for side in (1.0, -1.0):
            found = scatter.lobe_densities(facets_of(alpha), FRAME[2], -side * FRAME.T @ arrival, side * FRAME.T @ out)
            assert found == pytest.approx((once[0] * out[2], several[0]), rel=1e-6 if alpha > 0.01 else 1e-3)
        across = scatter.lobe_densities(facets_of(alpha), FRAME[2], -FRAME.T @ arrival, -FRAME.T @ out)
        assert across == (0.0, 0.0)


def lobe_albedo(alpha: float, degrees: float) -> float:
    """Share that one facet returns, by the integral of the BRDF over all light that leaves."""
    cosine = float(np.cos(np.radians(degrees)))
    out, angle = rings(cosine, sized(600, 120))
    flat = out.reshape(-1, 3)
    arrival = np.array([np.sqrt(1.0 - cosine**2), 0.0, cosine])
    density, value = np.zeros(len(flat)), np.zeros(len(flat))
    lobe_densities(np.tile(arrival, (len(flat), 1)), flat, alpha, density, value)
    return float((value * np.clip(flat[:, 2], 0.0, None)) @ angle.ravel())


def several_albedo(alpha: float, degrees: float) -> float:
    """Share that several facets return, by the integral of the BRDF (midpoint rule in the cosine)."""
    oz = (np.arange(sized(4000, 500)) + 0.5) / sized(4000, 500)
    density, value = np.zeros(len(oz)), np.zeros(len(oz))
    multiple_densities(facets_of(alpha), np.full(len(oz), np.cos(np.radians(degrees))), oz, density, value)
    assert 2.0 * np.pi * density.mean() == pytest.approx(1.0, abs=sized(100, 2000) * 1e-6)
    return float(2.0 * np.pi * (value * oz).mean())


@pytest.mark.parametrize("degrees", ANGLES)
@pytest.mark.parametrize("alpha", ALPHAS)
def test_the_evaluated_law_returns_all_there_is(alpha: float, degrees: float) -> None:
    """Its own integral is 1; the part by one facet is what the quadrature over facets says, and knows no table."""
    once = float(returned_once(alpha, np.array([np.cos(np.radians(degrees))]))[0])
    assert lobe_albedo(alpha, degrees) == pytest.approx(once, abs=sized(1, 100) * 1e-5)
    # Below a cosine of 0.03 lie but two cells of the table.
    assert once + several_albedo(alpha, degrees) == pytest.approx(1.0, abs=1e-3 if degrees < 85.0 else 0.01)


@pytest.mark.skipif(not COMPILED, reason="a million directions need compiled code")
@pytest.mark.parametrize("degrees", [0.0, 50.0, 80.0])
@pytest.mark.parametrize("alpha", [0.1, 0.3, 1.0])
def test_directions_follow_the_evaluated_law(alpha: float, degrees: float) -> None:
    """Chi-square over cells of the hemisphere, with the law integrated in each by the midpoint rule."""
    heights, turns, fine, count = 24, 24, 32, 300_000
    z = (np.arange(heights * fine) + 0.5) / (heights * fine)
    phi = (np.arange(turns * fine) + 0.5) / (turns * fine) * 2.0 * np.pi
    zz, pp = np.meshgrid(z, phi, indexing="ij")
    side = np.sqrt(1.0 - zz**2)
    departure = np.stack([side * np.cos(pp), side * np.sin(pp), zz], axis=-1).reshape(-1, 3)
    arrival = arriving(degrees)
    value = law_values(alpha, np.tile(-FRAME @ arrival, (len(departure), 1)), departure) * departure[:, 2]
    cells = value.reshape(heights, fine, turns, fine).sum(axis=(1, 3)) * 2.0 * np.pi / len(departure)
    assert cells.sum() == pytest.approx(1.0, abs=2e-3)
    local = scatter_many(alpha, arrival, count)
    counts, _, _ = np.histogram2d(
        local[:, 2],
        np.arctan2(local[:, 1], local[:, 0]) % (2.0 * np.pi),
        bins=(np.linspace(0.0, 1.0, heights + 1), np.linspace(0.0, 2.0 * np.pi, turns + 1)),
    )
    assert chi_square(counts, cells / cells.sum() * count) > sidak(FALSE_ALARM, 9)


@pytest.mark.parametrize("alpha", [1e-3, *ALPHAS])
def test_light_by_several_facets_leaves_as_the_formula_says(alpha: float) -> None:
    """Cosines by 2 m (1 - E(m)) / (1 - E_mean), summed over a fine grid that knows no table; azimuths are even."""
    count = sized(100_000, 1_000)
    out = np.zeros((count, 3))
    multiple_samples(facets_of(alpha), uniform_block(count, 2, 31), out)
    np.testing.assert_allclose(np.linalg.norm(out, axis=1), 1.0, atol=1e-12)
    root = np.linspace(0.0, 1.0, 2001)[1:]
    part = 4.0 * root**3 * (1.0 - returned_once(alpha, root**2))
    below = np.append(0.0, np.cumsum(0.5 * (part + np.append(0.0, part[:-1]))))
    level = sidak(FALSE_ALARM, 2 * (1 + len(ALPHAS)))
    place = np.interp(np.sqrt(out[:, 2]), np.append(0.0, root), below / below[-1])
    assert kstest(place, "uniform").pvalue > level
    assert kstest(np.arctan2(out[:, 1], out[:, 0]) / (2.0 * np.pi) + 0.5, "uniform").pvalue > level
    assert facet_table(alpha).share == facets_of(alpha)[SHARE]


@pytest.mark.parametrize("cosine", [1.0, 0.7, 0.2, 0.02])
@pytest.mark.parametrize(("alpha", "most"), [(0.1, 0.004), (0.3, 0.006), (0.6, 0.015), (1.0, 0.04)])
def test_against_a_walk_from_facet_to_facet(alpha: float, most: float, cosine: float) -> None:
    """One facet returns what the quadrature says; the rest leaves at about the angles of the walk.

    The law is a product of functions of one angle each, and the walk is not: so much of the light lies in another fifth
    of the cosine, and up to four hundredths on the other side, since it sends light back rather than on.
    """
    count = 200_000
    out, met = walk(cosine, alpha, count, 41)
    expected = float(returned_once(alpha, np.array([cosine]))[0])
    assert binomtest(int((met == 1).sum()), count, expected).pvalue > sidak(FALSE_ALARM, 16)
    table, several = facet_table(alpha), met > 1
    steps = np.linspace(0.0, 1.0, len(table.cosines)) ** 2
    fifths = np.diff(np.interp(np.linspace(0.0, 1.0, 6), table.cosines, steps))
    seen = np.histogram(out[several, 2], np.linspace(0.0, 1.0, 6))[0] / count
    assert 0.5 * np.abs(seen - fifths * several.mean()).sum() < most
    assert (several & (out[:, 0] > 0.0)).mean() == pytest.approx(0.5 * several.mean(), abs=0.04)


def test_nothing_leaves_along_the_surface_or_into_it() -> None:
    below, density, value = np.array([0.0, -0.3]), np.ones(2), np.ones(2)
    multiple_densities(facets_of(0.3), np.full(2, 0.5), below, density, value)
    assert not density.any()
    assert not value.any()


def test_no_table_where_nothing_is_rough() -> None:
    """Nothing changes at mirrors: a lobe too narrow to tell is one, and knows no facets."""
    smooth = LAW.validate_python({"kind": "glossy", "reflectance": 1.0, "specular_share": 0.5, "roughness": 9e-4})
    laws = bench({"smooth": smooth}, EDGES_NM[[0, -1]]).laws
    assert not laws.facets.any()
    assert not laws.lobe.any()
    assert laws.facets.shape[1] > COSINES
