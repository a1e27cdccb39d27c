"""First legs: photons that set out together do what each does alone, to the last bit."""

import numpy as np
import pytest

from sim.transport.first_legs import MANY
from sim.transport.tree_traverse import MISS
from tests.support.kernel_loops import photons_alone, photons_together
from tests.support.setups import Setup, setup_of
from tests.support.sizes import COMPILED
from tests.support.two_lamps import RICHEST, SCENES

pytestmark = pytest.mark.tiny

SPANS = [(0, MANY), (3, 7), (MANY - 1, MANY), (5 * MANY + 14, 6 * MANY - 13)]
"""First photons and ends: all that set out together, a few, the last alone, and from within a block into another."""


def found(setup: Setup, lamp: int, span: tuple[int, int], together: bool) -> tuple[np.ndarray, np.ndarray]:
    start, meeting = np.full((span[1] - span[0], 6), np.nan), np.full((span[1] - span[0], 6), np.nan)
    (photons_together if together else photons_alone)(setup.compiled.model, lamp, *span, 5, start, meeting)
    return start, meeting


@pytest.mark.parametrize("span", SPANS if COMPILED else SPANS[1:])
@pytest.mark.parametrize("lamp", [0, 1])
@pytest.mark.parametrize("name", [RICHEST, "spot by a mirror"])
def test_together_is_as_alone(name: str, lamp: int, span: tuple[int, int]) -> None:
    setup = setup_of(SCENES[name], plain=True)
    for together, alone in zip(found(setup, lamp, span, True), found(setup, lamp, span, False), strict=True):
        assert not np.any(np.isnan(together))
        np.testing.assert_array_equal(together, alone)


def test_some_miss() -> None:
    """What leaves by a hole is told, too."""
    _, meeting = found(setup_of(SCENES["hole"], plain=True), 1, (0, MANY), True)
    missed = meeting[:, 1] == MISS
    assert 0 < np.count_nonzero(missed) < MANY
    assert np.all(np.isinf(meeting[missed, 0]))
