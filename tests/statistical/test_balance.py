"""Sums of cells made equal to photons': exact sums, no bias of a cell, and true errors."""

import numpy as np
from scipy.stats import norm, t

from sim.simulate.balance import balanced
from sim.tally.statistics import estimate

REPLICATES, CELLS, RUNS = 64, 12, 400
FALSE_ALARM = 0.001


def runs(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Skewed invented estimates: truth (cell,), areas, rays (run, replicate, cell), photons' sums (run, replicate)."""
    rng = np.random.Generator(np.random.PCG64(seed))
    truth, area = rng.uniform(0.0, 3.0, CELLS), rng.uniform(0.5, 2.0, CELLS)
    truth[0] = 0.0
    rays = truth * rng.exponential(1.0, (RUNS, REPLICATES, CELLS))
    photons = (truth @ area) * rng.gamma(400.0, 1.0 / 400.0, (RUNS, REPLICATES))
    return truth, area, rays, photons


def of_all(rays: np.ndarray, photons: np.ndarray, area: np.ndarray) -> np.ndarray:
    """Two surfaces, alike but that one is twice as bright, in every replicate; the cells of the first, checked."""
    both = np.concatenate([rays, 2.0 * rays], axis=1)[:, :, None]
    sums, areas = np.stack([photons, 2.0 * photons], axis=1)[:, :, None], np.tile(area, 2)
    first = np.array([0, len(area)])
    others = both.sum(axis=0) - both
    found = np.array([balanced(*one, areas, first) for one in zip(both, others, sums, strict=True)])[:, :, 0]
    np.testing.assert_allclose(2.0 * found[:, : len(area)], found[:, len(area) :], rtol=1e-12)
    return found[:, : len(area)]


def test_sums_are_those_of_photons_and_dark_cells_stay_dark() -> None:
    truth, area, rays, photons = runs(1)
    for run in range(3):
        found = of_all(rays[run], photons[run], area)
        np.testing.assert_allclose(found @ area, photons[run], rtol=1e-12)
        assert np.all(found[:, truth == 0.0] == 0.0)


def test_no_cell_is_biased_and_intervals_cover() -> None:
    truth, area, rays, photons = runs(2)
    found = np.array([of_all(r, p, area) for r, p in zip(rays, photons, strict=True)])
    lit = truth > 0.0
    means = found.mean(axis=1)[:, lit]
    z = (means.mean(axis=0) - truth[lit]) / (means.std(axis=0, ddof=1) / np.sqrt(RUNS))
    assert np.abs(z).max() < norm.isf(0.5 * FALSE_ALARM / lit.sum())
    covered = []
    for run in range(RUNS):
        told = estimate(found[run][:, lit])
        covered.append(np.abs(told.mean - truth[lit]) < t.isf(0.025, REPLICATES - 1) * told.se)
    share = np.mean(covered)
    # Skew costs a 95 % interval of 64 exponential estimates about a percent; cells of one run are nearly independent.
    assert 0.925 < share < 0.965


def test_nothing_found_by_rays_leaves_nothing_to_spread() -> None:
    dark = balanced(np.zeros((3, 1)), np.zeros((3, 1)), np.ones((1, 1)), np.ones(3), np.zeros(1, dtype=np.int64))
    assert np.all(dark == 0.0)
