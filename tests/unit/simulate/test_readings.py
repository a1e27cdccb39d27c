"""Set-ups of readings are traced once, and again as soon as anything in them is another."""

import numpy as np
import pytest

from sim.scene.model import Scene
from sim.simulate import simulate
from sim.simulate.readings import FloatArray, Readings
from tests.support.scene_text import altered
from tests.support.setups import scene_of

TEXT = altered('output = { radiant = "1.5 W" }', 'output = { uvi = 3.0, at = "30 cm", setting = "fixture" }')
SCENE = scene_of(TEXT)


class Counted:
    """A set-up that tells how often it was traced."""

    def __init__(self) -> None:
        self.times = 0

    def trace(self) -> FloatArray:
        self.times += 1
        return np.full((2, 1), float(self.times))


def test_the_same_is_traced_once() -> None:
    readings, counted = Readings(), Counted()
    first = readings.brought(SCENE, ("uvi", 1), counted.trace)
    assert first is readings.brought(scene_of(TEXT), ("uvi", 1), counted.trace)
    assert 1 == counted.times
    with pytest.raises(ValueError, match="read-only"):
        first[0, 0] = 9.0


@pytest.mark.parametrize(
    ("scene", "how"),
    [
        (SCENE, ("uvi", 2)),
        (SCENE, ("uvb-320", 1)),
        (scene_of(TEXT.replace('radius = "8 mm"', 'radius = "8.000000000001 mm"')), ("uvi", 1)),
        (scene_of(TEXT.replace('width = "9 cm"', 'width = "8 cm"')), ("uvi", 1)),
    ],
    ids=["seed", "weighting", "a length in its thirteenth digit", "reflector"],
)
def test_another_is_traced_anew(scene: Scene, how: tuple[object, ...]) -> None:
    readings, counted = Readings(), Counted()
    readings.brought(SCENE, ("uvi", 1), counted.trace)
    readings.brought(scene, how, counted.trace)
    assert 2 == counted.times


def test_they_change_no_bit_of_a_result() -> None:
    readings = Readings()
    moved = scene_of(TEXT.replace('corner = ["80 cm", "20 cm", "20 cm"]', 'corner = ["80 cm", "20 cm", "24 cm"]'))
    for scene in (SCENE, moved, SCENE):
        alone = simulate(scene, histories=6400)
        again = simulate(scene, histories=6400, readings=readings)
        assert np.array_equal(alone.irradiance, again.irradiance)
        assert alone.lamps[0].radiant_power == again.lamps[0].radiant_power
