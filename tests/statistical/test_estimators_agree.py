"""Six estimators of one irradiance: photons on a wall, photons and rays to the lamp, photons that cross a plane on it,
paths from there, photons for what came by curved and rough mirrors with paths for the rest, and photons for what wires
scattered or such mirrors turned at last with links for the rest.

They share no more than the scene: hits of photons, shadow rays to the lamp and its images, and paths that look for the
lamp. So light lost or counted twice by any of them shows.
"""

import numpy as np
import pytest
from scipy.stats import t

from sim.simulate.tallies import REPLICATES
from sim.tally.result import Result
from sim.tally.statistics import estimate
from sim.transport.arrays import F64
from tests.support.setups import by_paths, group_values, setup_of, with_links, with_paths
from tests.support.significance import sidak
from tests.support.two_lamps import SCENES
from tests.support.wall_planes import WALLS

FALSE_ALARM = 0.001
"""Significance of all comparisons of one scene together."""
PHOTONS = 1500
"""Of each lamp in each replicate."""
HOLED = {"hole": "front"}
"""Walls of which a plane over all of the wall measures another mean than the wall's own cells."""


def scores(a: F64, b: F64) -> F64:
    """Differences in units of their own scatter over replicates, whatever a and b share."""
    difference = estimate(a - b)
    # Sums in another order, and single precision in the file, differ by rounding where there is no noise.
    rounding = 1e-6 * np.abs(a).mean(axis=0)
    return np.asarray(difference.mean / np.maximum(difference.se, np.maximum(rounding, 1e-30))).ravel()


def cell_values(result: Result, cells: list[int]) -> F64:
    """Irradiance of some cells in each replicate, lamp and band: (replicate, cells, lamp, band) [W m-2]."""
    values: F64 = result.irradiance[:, cells].astype(float)
    return values


@pytest.mark.parametrize("name", SCENES)
def test_photons_planes_and_paths_agree(name: str) -> None:
    setup = setup_of(SCENES[name])
    walls = [wall for wall in WALLS if f'name = "on {wall}"' in SCENES[name]]
    crossed, paths = setup.result(PHOTONS, 31), by_paths(setup).result(PHOTONS, 32)
    both = with_paths(setup).result(PHOTONS, 34)
    linked = with_links(setup).result(PHOTONS, 35)
    plain = setup_of(SCENES[name], plain=True).result(PHOTONS, 33)
    shared = set(setup.compiled.straight.tolist())
    assert shared
    found = []
    for wall in walls:
        plane, path = group_values(crossed, "sensor", f"on {wall}"), group_values(paths, "sensor", f"on {wall}")
        assert plane.mean() > 0.0
        found.append(scores(path, plane))
        found.append(scores(group_values(both, "sensor", f"on {wall}"), plane))
        found.append(scores(group_values(linked, "sensor", f"on {wall}"), plane))
        group = plain.group("surface", wall)
        cells = [row for row in range(group.first, group.first + group.count) if row in shared]
        if cells:
            found.append(scores(cell_values(plain, cells), cell_values(crossed, cells)))
        if HOLED.get(name) != wall:
            found.append(scores(group_values(crossed, "surface", wall), plane))
            found.append(scores(group_values(paths, "surface", wall), path))
    z = np.concatenate(found)
    assert len(z) >= 2 * len(walls) * 3
    limit = float(t.isf(0.5 * sidak(FALSE_ALARM, len(z)), REPLICATES - 1))
    assert float(np.abs(z).max()) < limit
