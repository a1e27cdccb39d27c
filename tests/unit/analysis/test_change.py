"""What a change of a scene brought: by name, with an error that knows of shared noise."""

import numpy as np
import pytest

from sim.analysis.change import area_means, changes
from sim.analysis.coverage import SceneAnswer, answer
from tests.support.synthetic_result import make_result, terrarium_patches, tube_field


def told(strength: float, seed: int = 1) -> SceneAnswer:
    return answer(make_result(terrarium_patches(), tube_field(strength), noise=0.1, replicates=32, seed=seed))


def test_zones_and_sensors_are_told_with_the_noise_that_they_share_taken_out() -> None:
    before, now = told(0.8), told(0.82)
    found = changes(area_means(before), area_means(now))
    assert [zone.name for zone in now.zones] + [row.name for row in now.sensors] == [one.name for one in found]
    apart = changes(area_means(before), area_means(told(0.82, seed=2)))
    for one, other, zone in zip(found, apart, now.zones, strict=False):
        assert one.now == zone.uvi
        assert float(one.difference.mean) == pytest.approx(float(one.now.mean - one.before.mean))
        assert one.difference.se < 0.1 * other.difference.se


def test_what_is_not_in_both_is_left_out() -> None:
    means = area_means(told(0.8))
    key = next(iter(means))
    rest = {name: values for name, values in means.items() if name != key}
    assert key[1] not in [one.name for one in changes(rest, means)]
    assert () == changes({}, means)


def test_without_zones_and_sensors_surfaces_are_told() -> None:
    patches = [patch for patch in terrarium_patches() if patch.kind == "surface"]
    means = area_means(answer(make_result(patches, tube_field(1.0), replicates=4)))
    assert {("surface", patch.name) for patch in patches} == set(means)
    assert all(np.ndim(values) == 1 for values in means.values())
