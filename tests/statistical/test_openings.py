"""Paths that are sent to where light leaves reflectors: as often as their density says, with honest errors."""

from functools import cache

import numpy as np
import pytest
from scipy.stats import chi2, t

from sim.compile.openings import TWICE
from sim.simulate.tallies import REPLICATES
from sim.tally.statistics import Estimate, estimate
from sim.transport.openings import AREA, CORNER, NORMAL, WORTH
from sim.transport.paths import gather_paths
from tests.support.kernel_loops import first_densities, first_directions, uniform_block
from tests.support.mirror_light import mirror
from tests.support.scene_blocks import Triple, box, lengths, matt, scene, tube
from tests.support.setups import Setup, by_paths, setup_of
from tests.support.sizes import COMPILED, sized

FALSE_ALARM = 0.001
UP = (0.0, 0.0, 1.0)
SEEDS, COVERED = 200, range(181, 198)
"""Of 200 seeds: 99 % of binomial draws at 0.95 lie in it."""


def grid(corner: Triple, edge_u: Triple, edge_v: Triple) -> str:
    return (
        f'[[sensors]]\nname = "grid"\nkind = "grid"\ncorner = {lengths(corner)}\nedge_u = {lengths(edge_u)}\n'
        f"edge_v = {lengths(edge_v)}\ncells = [3, 2]"
    )


@cache
def short_trough(wall: str, other: str = matt(0.3), more: str = "") -> Setup:
    """A thick short tube in an open trough of mirrors, near a wall, and a grid far below that sees some of it askew.

    The walls named in `more` are like that one.
    """
    trough = (
        '[[reflectors]]\nname = "trough"\nprofile = "trough"\nlamp = "tube"\nwidth = "9 cm"\ndepth = "3 cm"\n'
        f'above = "16 mm"\nlaw = {mirror(0.8)}'
    )
    walls = {"all": other, "back": wall, **dict.fromkeys(more.split(), wall)}
    text = scene(
        "A short trough",
        box((0.9, 0.6, 0.8), walls),
        tube((0.2, 0.2, 0.7), (0.25, 0.2, 0.7), 0.013, 1.0),
        trough,
        grid((0.1, 0.1, 0.05), (0.7, 0.0, 0.0), (0.0, 0.4, 0.0)),
        histories=1,
    )
    return setup_of(text)


def on_grid(setup: Setup, photons: int, seed: int) -> Estimate:
    result = setup.result(photons, seed)
    return estimate(result.irradiance[:, result.group("sensor", "grid").rows].sum(axis=(2, 3), dtype=float))


PLACES: list[tuple[Triple, Triple]] = [
    ((0.25, 0.2, 0.3), UP),
    ((0.7, 0.3, 0.1), UP),
    ((0.1, 0.25, 0.68), (1.0, 0.0, 0.0)),
    ((0.7, 0.3, 0.75), (-1.0, 0.0, 0.0)),
    ((0.25, 0.2, 0.3), (0.0, 0.0, -1.0)),
]
"""Below it, far off, at its end, above where it opens, and looking away."""


@pytest.mark.tiny
@pytest.mark.parametrize("more", ["", "left ceiling"])
@pytest.mark.parametrize(("place", "normal"), PLACES)
def test_directions_are_as_frequent_as_their_density_says(place: Triple, normal: Triple, more: str) -> None:
    emitters = short_trough(mirror(0.8), more=more).compiled.model.emitters
    x, n = np.array(place), np.array(normal)
    count, bins = sized(200_000, 2_000), 16 if COMPILED else 4
    directions = np.zeros((count, 3))
    first_directions(emitters, 0, x, n, uniform_block(count, 2, 5), directions)
    np.testing.assert_allclose(np.linalg.norm(directions, axis=1), 1.0, atol=1e-12)
    above = directions[directions @ n > 0.0]
    density = np.zeros(len(above))
    first_densities(emitters, 0, x, n, above, density)
    # Weighted by the cosine law over their density, as many lie in equal steps of squared cosine and azimuth.
    cosine, axis = above @ n, np.roll(n, 1)
    azimuth = np.mod(np.arctan2(above @ np.cross(n, axis), above @ axis), 2.0 * np.pi)
    cell = (
        np.minimum(cosine**2 * bins, bins - 1).astype(int) * bins + (azimuth / (2.0 * np.pi) * bins).astype(int) % bins
    )
    weight = cosine / np.pi / density
    sums, squares = (np.bincount(cell, weight**power, minlength=bins**2) for power in (1, 2))
    wanted = count / bins**2
    z = (sums - wanted) / np.sqrt(squares - sums**2 / count)
    assert float(chi2.sf((z**2).sum(), len(z))) > FALSE_ALARM / (2 * len(PLACES))


def by_single_paths(setup: Setup, paths: int) -> Estimate:
    """What single paths bring to the first cell of the grid."""
    model = setup.compiled.model
    cell = next(group.first for group in setup.compiled.groups if group.name == "grid") - setup.compiled.cells
    values, whole = np.zeros(paths), np.ones(len(model.receivers.origin), dtype=np.bool_)
    for index in range(paths):
        start, count = (np.zeros(len(whole), dtype=np.int64) for _ in range(2))
        start[cell], count[cell] = index, 1
        total = np.zeros((len(whole), model.emitters.live.shape[1]))
        gather_paths(model, 0, 0, start, count, whole, 5, total)
        values[index] = total[cell].sum()
    return estimate(values)


@pytest.mark.tiny
def test_paths_that_would_end_at_walls_bring_more_light() -> None:
    paths = sized(4_000, 150)
    dark, bright = (by_single_paths(short_trough(law, law), paths) for law in ('"black"', matt(0.6)))
    assert float(dark.mean) > 0.0
    assert float(bright.mean - dark.mean) > 3.0 * float(np.hypot(bright.se, dark.se))


@pytest.mark.slow
@pytest.mark.parametrize(("wall", "other"), [(mirror(0.8), matt(0.3)), (matt(0.6), matt(0.6)), ('"black"', '"black"')])
def test_paths_find_what_photons_find(wall: str, other: str) -> None:
    setup = short_trough(wall, other)
    photons, paths = on_grid(setup, 20_000, 3), on_grid(by_paths(setup), 10_000, 4)
    z = (paths.mean - photons.mean) / np.hypot(paths.se, photons.se)
    assert float(chi2.sf((z**2).sum(), len(z))) > FALSE_ALARM / 3
    assert float((paths.se / paths.mean).max()) < 0.03


def test_two_mirrors_show_an_opening_once() -> None:
    """The opening, what each of three mirrors shows of it, and each two of them: at right angles both ways are one."""
    opening = short_trough(mirror(0.8), more="left ceiling").compiled.model.emitters.opening
    faces = len(short_trough('"black"').compiled.model.emitters.opening)
    assert len(opening) == (1 + 3 + 3) * faces
    assert len(np.unique(opening[:, [*range(CORNER, CORNER + 3), *range(NORMAL, NORMAL + 3)]].round(9), axis=0)) == len(
        opening
    )
    assert opening[4 * faces :, WORTH] == pytest.approx(TWICE * opening[4 * faces :, AREA])
    assert opening[: 4 * faces, WORTH] == pytest.approx(opening[: 4 * faces, AREA])


@pytest.mark.slow
def test_intervals_hold_where_mirrors_show_it_in_each_other() -> None:
    """Without paths that are sent there a quarter of the intervals were off."""
    setup = short_trough(mirror(0.9), more="left ceiling")
    truth, wide = on_grid(setup, 6_000, 99), float(t.ppf(0.975, REPLICATES - 1))
    found = [on_grid(by_paths(setup), 1_500, seed) for seed in range(6)]
    off = [np.abs(each.mean - truth.mean) > wide * np.hypot(each.se, truth.se) for each in found]
    # Of 36 intervals 5 % are off; 8 or more are in one program of 4,000.
    assert int(np.sum(off)) < 8


@pytest.mark.slow
def test_intervals_cover() -> None:
    setup = by_paths(short_trough('"black"', '"black"'))
    truth, wide = on_grid(setup, 200_000, 99), float(t.ppf(0.975, REPLICATES - 1))
    covered = np.zeros(6, dtype=np.int64)
    for seed in range(SEEDS):
        found = on_grid(setup, 2_048, seed)
        covered += np.abs(found.mean - truth.mean) < wide * np.hypot(found.se, truth.se)
    assert [int(count) in COVERED for count in covered] == [True] * 6, covered
