"""A scene whose sums no memory holds is refused before it takes any."""

import pytest

from sim.scene.fault import SceneError
from sim.simulate import simulate, tallies
from tests.support.scene_text import VIVARIUM
from tests.support.setups import scene_of


def test_a_scene_that_is_too_large_for_the_machine_is_told_what_it_takes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tallies, "_memory", lambda: 10**6)
    with pytest.raises(
        SceneError, match=r"run\.receiver_size: \d+ receivers, .* GB of memory, .*; raise receiver_size"
    ):
        simulate(scene_of(VIVARIUM), histories=64)


def test_the_memory_of_this_machine_is_known_or_left_open() -> None:
    have = tallies._memory()
    assert have is None or have > 2**28
