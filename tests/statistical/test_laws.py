"""Every law, from manual pages and library: energy, reciprocity, and what sampling makes of it."""

from functools import cache

import numpy as np
import pytest
from scipy.stats import binomtest, kstest, norm

from sim.materials.components import angle_nodes
from sim.materials.law import law_components
from sim.materials.screen import Screen
from sim.screens.weave import direct_transmittance
from sim.screens.wires import caught_by_set, clear_shares
from sim.transport.arrays import ALPHA, F64, I64
from sim.transport.parts import ABSORBED, AGAIN, DIFFUSE, LOBE, MIRROR, ONCE, PARTS, STRAIGHT, THROUGH
from tests.support.kernel_loops import (
    chosen_parts,
    part_shares,
    passed_shares,
    scattered,
    uniform_block,
    wire_densities,
)
from tests.support.law_bench import EDGES_NM, KINDS, LAWS, NORMAL, TANGENT, Bench, arriving, bench
from tests.support.significance import chi_square, sidak
from tests.support.sizes import COMPILED, sized

pytestmark = pytest.mark.tiny

FALSE_ALARM = 0.001
"""Significance of all tests of one function together."""
ANGLES = [0.0, 35.0, 60.0, 82.0]
SIDES = [True, False]
MIXED = 5
"""Parts that any law but a screen can mix: all up to the lobe."""
FRAME = np.stack([TANGENT, np.cross(NORMAL, TANGENT), NORMAL])
ONE_BAND = EDGES_NM[[0, -1]]


@cache
def in_one_band() -> Bench:
    return bench(LAWS, ONE_BAND)


@cache
def in_bands() -> Bench:
    return bench(LAWS)


def test_every_kind_has_its_turn() -> None:
    assert {type(law) for law in LAWS.values()} == set(KINDS)


@pytest.mark.parametrize("name", LAWS)
def test_no_law_makes_light_at_any_angle(name: str) -> None:
    """What is reflected and passed is the sum of the parts; the rest is absorbed, and never below zero."""
    setup = in_bands()
    cosine = np.append(angle_nodes(), [1e-9, 1.0 - 1e-12])
    shares = np.zeros((len(cosine), 1, len(EDGES_NM) - 1, PARTS))
    part_shares(setup.laws, setup.row(name), cosine, shares)
    assert shares.min() >= 0.0
    assert shares.sum(axis=-1).max() <= 1.0 + 1e-12


def test_a_screen_passes_the_same_both_ways_and_what_its_own_formula_says() -> None:
    rng = np.random.Generator(np.random.PCG64(2))
    directions = rng.standard_normal((sized(5000, 300), 3))
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    setup = in_one_band()
    for name, law in LAWS.items():
        if isinstance(law, Screen):
            there, back = np.zeros(len(directions)), np.zeros(len(directions))
            passed_shares(setup.laws, setup.surfaces, setup.row(name), directions, there)
            passed_shares(setup.laws, setup.surfaces, setup.row(name), -directions, back)
            np.testing.assert_allclose(there, direct_transmittance(law.fill, directions @ FRAME.T), atol=1e-12)
            np.testing.assert_allclose(back, there, atol=1e-12)


def wire_shares(law: Screen, local: F64) -> F64:
    """Share of light that meets one wire, and several, white ones; (2, n) for directions in the screen's frame."""
    hits, clear = np.stack(caught_by_set(law.fill, local)), np.stack(clear_shares(law.fill, local))
    return np.stack([(hits * clear).sum(axis=0), (hits * (1.0 - clear)).sum(axis=0)])


SCREENS = [name for name, law in LAWS.items() if isinstance(law, Screen)]


@pytest.mark.parametrize("name", SCREENS)
@pytest.mark.parametrize("part", [ONCE, AGAIN])
def test_light_off_wires_is_reciprocal(name: str, part: int) -> None:
    """Share times density over the cosine of departure is the same with both directions reversed and exchanged."""
    rng = np.random.Generator(np.random.PCG64(8))
    pairs = rng.standard_normal((2, sized(5000, 300), 3))
    a, b = pairs / np.linalg.norm(pairs, axis=2, keepdims=True)
    law, setup = LAWS[name], in_one_band()
    assert isinstance(law, Screen)
    values = []
    for arrival, departure in ((a, b), (-b, -a)):
        density = np.zeros(len(a))
        wire_densities(setup.laws, setup.surfaces, setup.row(name), part, arrival, departure, density)
        share = wire_shares(law, arrival @ FRAME.T)[part - ONCE]
        values.append(share * density / np.abs(departure @ NORMAL))
    assert values[0].max() > 0.0
    np.testing.assert_allclose(values[1], values[0], rtol=1e-9, atol=1e-12)


@pytest.mark.skipif(not COMPILED, reason="a million directions need compiled code")
@pytest.mark.parametrize("name", ["uneven cloth", "white cloth"])
@pytest.mark.parametrize("degrees", [0.0, 50.0, 80.0])
def test_directions_off_wires_follow_their_density(name: str, degrees: float) -> None:
    """Chi-square over cells of the sphere, on both sides of the screen, with the density integrated in each."""
    level = sidak(FALSE_ALARM, 2 * 3 * 2)
    arrival = arriving(degrees)
    setup = in_one_band()
    directions, _, parts = scatter_many(setup, name, arrival, np.ones(1), 400_000)
    heights, turns, fine = 16, 16, 24
    z, phi = (
        (np.arange(n * fine) + 0.5) / (n * fine) * span + low
        for n, span, low in ((heights, 2.0, -1.0), (turns, 2.0 * np.pi, 0.0))
    )
    grid = np.stack(
        [
            np.sqrt(1.0 - z[:, None] ** 2) * np.cos(phi),
            np.sqrt(1.0 - z[:, None] ** 2) * np.sin(phi),
            z[:, None] * np.ones_like(phi),
        ],
        axis=-1,
    ).reshape(-1, 3)
    for part in (ONCE, AGAIN):
        density = np.zeros(len(grid))
        inputs = np.tile(arrival, (len(grid), 1)), grid @ FRAME
        wire_densities(setup.laws, setup.surfaces, setup.row(name), part, *inputs, density)
        cells = density.reshape(heights, fine, turns, fine).sum(axis=(1, 3)) * 4.0 * np.pi / len(grid)
        # The table by angle and the midpoint rule are good to 1e-3 of the whole.
        assert cells.sum() == pytest.approx(1.0, abs=1e-3)
        local = directions[parts == part] @ FRAME.T
        counts, _, _ = np.histogram2d(
            local[:, 2],
            np.arctan2(local[:, 1], local[:, 0]) % (2.0 * np.pi),
            bins=(np.linspace(-1.0, 1.0, heights + 1), np.linspace(0.0, 2.0 * np.pi, turns + 1)),
        )
        assert chi_square(counts, cells / cells.sum() * len(local)) > level


def expected_shares(name: str, degrees: float) -> F64:
    """Share of each part by the law's own components, averaged over a flat band by the midpoint rule."""
    law = LAWS[name]
    low, high = ONE_BAND
    nm = low + (high - low) * (np.arange(4800) + 0.5) / 4800
    parts = law_components(law, nm)
    shares = np.zeros(PARTS)
    shares[DIFFUSE], shares[THROUGH] = parts.diffuse_reflectance.mean(), parts.diffuse_transmittance.mean()
    cosine = np.cos(np.radians(degrees))
    if parts.lobe_reflectance.any():
        shares[LOBE] = parts.lobe_reflectance.mean()
    if parts.specular is not None:
        table = parts.specular.mean(axis=0)
        shares[MIRROR], shares[STRAIGHT] = (np.interp(cosine, angle_nodes(), table[:, k]) for k in range(2))
    if isinstance(law, Screen):
        local = arriving(degrees) @ FRAME.T
        shares[STRAIGHT] = float(direct_transmittance(law.fill, local))
        shares[[ONCE, AGAIN]] = parts.wire_reflectance.mean(), parts.wire_remainder.mean()
        shares[[ONCE, AGAIN]] *= wire_shares(law, local[None, :])[:, 0]
    return shares


def scatter_many(setup: Bench, name: str, arrival: F64, before: F64, count: int) -> tuple[F64, F64, I64]:
    directions, after = np.zeros((count, 3)), np.zeros((count, len(before)))
    parts = np.full(count, -99)
    scattered(setup.surfaces, setup.laws, setup.row(name), arrival, before, 17, directions, after, parts)
    return directions, after, parts


@pytest.mark.parametrize("name", LAWS)
def test_sampled_albedo(name: str) -> None:
    """Each part is taken as often as the law says, from both sides and at every angle."""
    count = sized(20_000, 400)
    level = sidak(FALSE_ALARM, len(LAWS) * len(ANGLES) * len(SIDES) * PARTS)
    for degrees in ANGLES if COMPILED else ANGLES[1:2]:
        expected = expected_shares(name, degrees)
        assert expected.sum() <= 1.0 + 1e-9
        for front in SIDES:
            _, after, parts = scatter_many(in_one_band(), name, arriving(degrees, front=front), np.ones(1), count)
            for part in range(PARTS):
                seen = int((parts == part).sum())
                chance = min(max(expected[part], 0.0), 1.0)
                assert binomtest(seen, count, chance).pvalue > level, (degrees, front, part, seen / count, chance)
            # With one band a photon keeps its weight or dies.
            np.testing.assert_allclose(after[parts != ABSORBED], 1.0, atol=1e-12)


@pytest.mark.parametrize("name", LAWS)
def test_directions_belong_to_the_part(name: str) -> None:
    count = sized(4_000, 300)
    level = sidak(FALSE_ALARM, len(LAWS) * 2 * 2)
    for front in SIDES:
        arrival = arriving(50.0, front=front)
        side = NORMAL if front else -NORMAL
        directions, _, parts = scatter_many(in_one_band(), name, arrival, np.ones(1), count)
        cosine = directions @ side
        alive = parts != ABSORBED
        np.testing.assert_allclose(np.linalg.norm(directions[alive], axis=1), 1.0, atol=1e-9)
        np.testing.assert_allclose(directions[parts == STRAIGHT] - arrival, 0.0, atol=1e-12)
        mirrored = arrival - 2.0 * (arrival @ NORMAL) * NORMAL
        np.testing.assert_allclose(directions[parts == MIRROR] - mirrored, 0.0, atol=1e-12)
        assert np.all(cosine[(parts == DIFFUSE) | (parts == LOBE)] > 0.0)
        for part, sign in ((DIFFUSE, 1.0), (THROUGH, -1.0)):
            squared = (sign * cosine[parts == part]) ** 2
            assert np.all(sign * cosine[parts == part] > 0.0)
            if len(squared) > 20:
                assert kstest(squared, "uniform").pvalue > level


def mean_error(samples: F64) -> F64:
    return samples.std(axis=0, ddof=1) / np.sqrt(len(samples))


SPECTRAL = [
    "cloth by wavelength",
    "leaf by wavelength",
    "Lambertian 0",
    "glass-clear-4mm",
    "glass-iron-5ppm-4mm",
    "polished-aluminium",
    "rough",
    "rough by wavelength",
]


@pytest.mark.parametrize("name", SPECTRAL)
def test_weights_of_several_bands_are_unbiased(name: str) -> None:
    """In each band the mean weight that a part takes on is the part's share, though all bands share one path."""
    count = sized(100_000, 2_000)
    setup = in_bands()
    before = np.array([1.0, 0.2, 0.0, 3.0])
    cosine = float(np.cos(np.radians(40.0)))
    shares = np.zeros((1, 1, len(before), PARTS))
    part_shares(setup.laws, setup.row(name), np.array([cosine]), shares)
    law = LAWS[name]
    if isinstance(law, Screen):
        local = arriving(40.0) @ FRAME.T
        shares[..., STRAIGHT] = direct_transmittance(law.fill, local)
        shares[0, 0, :, [ONCE, AGAIN]] = setup.laws.wires[setup.row(name), 0].T * wire_shares(law, local[None, :])
    _, after, parts = scatter_many(setup, name, arriving(40.0), before, count)
    assert np.all(after[:, 2] == 0.0)
    limit = norm.isf(0.5 * sidak(FALSE_ALARM, len(SPECTRAL) * 4 * PARTS))
    for part in range(PARTS):
        taken = np.where((parts == part)[:, None], after, 0.0)
        expected = before * shares[0, 0, :, part]
        assert np.all(np.abs(taken.mean(axis=0) - expected) <= limit * mean_error(taken) + 1e-4 * expected + 1e-12)


@pytest.mark.parametrize("seed", range(sized(12, 3)))
def test_weights_stay_true_where_bands_prefer_different_parts(seed: int) -> None:
    """Invented laws: each band splits its light among all parts in its own way, up to all of it."""
    rng = np.random.Generator(np.random.PCG64(seed))
    bands, count = 5, sized(100_000, 1_500)
    split = rng.dirichlet(np.full(MIXED + 1, 0.3), bands)[:, :MIXED]
    split[0] = np.eye(MIXED)[seed % MIXED]
    laws = bench({"any": LAWS["clear pane"]}, np.linspace(280.0, 400.0, bands + 1)).laws
    laws.specular[0, 0, :, :, 1], laws.specular[0, 0, :, :, 0] = split[:, [STRAIGHT]], split[:, [MIRROR]]
    laws.diffuse[0, 0] = split[:, [DIFFUSE, THROUGH]]
    laws.lobe[0, 0], laws.facets[0, ALPHA] = split[:, LOBE], 0.3
    before = np.array([1.0, 0.5, 2.0, 0.0, 1e-3])
    parts, after = np.full(count, -99), np.full((count, bands), np.nan)
    chosen_parts(laws, 0, 0.7, before, uniform_block(count, 1, 100 + seed)[:, 0], parts, after)
    after[parts == ABSORBED] = 0.0
    limit = norm.isf(0.5 * sidak(FALSE_ALARM, 12 * MIXED * bands))
    for part in range(MIXED):
        taken = np.where((parts == part)[:, None], after, 0.0)
        expected = before * split[:, part]
        # A part so rare that it was hardly drawn has no error of its own to go by.
        rare = 10.0 * before * max(split[:, part].max(), 1e-12) / np.sqrt(count)
        spread = np.where((parts == part).sum() > 100, limit * mean_error(taken), rare)
        assert np.all(np.abs(taken.mean(axis=0) - expected) <= spread + 1e-12)
