"""``vivray picture --photons``: ways of the run's own photons, the same every time, drawn from the lamp on."""

from pathlib import Path

import numpy as np
import pytest

from sim.scene.check import survey
from sim.scene.load import load_scene
from sim.simulate.photon_paths import STEPS, photon_paths

SCENES = Path(__file__).resolve().parents[2] / "scenes"


@pytest.fixture(scope="module", params=["desk-dome.toml", "white-box.toml"])
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def test_ways_are_the_same_every_time_and_start_at_their_lamp(name: str) -> None:
    seen = survey(load_scene(SCENES / name))
    first, again = photon_paths(seen, 8), photon_paths(seen, 8)
    assert 8 * len(seen.scene.lamps) == len(first)
    for way, other in zip(first, again, strict=True):
        np.testing.assert_array_equal(way.corners, other.corners)
        assert way.lamp in {lamp.name for lamp in seen.scene.lamps}
        assert 2 <= len(way.corners) <= STEPS
    assert len({way.corners[0].tobytes() for way in first}) == len(first)


def test_another_seed_sends_other_photons() -> None:
    seen = survey(load_scene(SCENES / "white-box.toml"))
    assert not np.allclose(photon_paths(seen, 1, seed=1)[0].corners[:2], photon_paths(seen, 1, seed=2)[0].corners[:2])


def test_half_of_the_photons_end_at_each_wall_that_returns_half() -> None:
    # Walls met until one absorbs: a geometric number of mean 2 and variance 2. The lamp's body, which returns all, is
    # met now and then between them. Four standard errors below; above, as much again for the body.
    count = 1000
    ways = photon_paths(survey(load_scene(SCENES / "white-box.toml")), count)
    met = float(np.mean([len(way.corners) - 1 for way in ways]))
    four_errors = 4.0 * np.sqrt(2.0 / count)
    assert 2.0 - four_errors < met < 2.0 + 2.0 * four_errors
