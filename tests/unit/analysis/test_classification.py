"""Exposure zones by mean and highest reading.

Ferguson et al., Zoo Biol. 29 (2010) 317-334; the bounds as common practice gives them.
"""

import pytest

from sim.analysis.classification import classify


@pytest.mark.parametrize(
    ("mean", "highest", "zone", "over_max"),
    [
        (0.5, 1.2, 1, False),
        (0.5, 1.5, 1, True),
        (0.5, 1.4, 1, False),
        (0.7, 1.2, 2, False),
        (1.0, 2.9, 3, False),
        (2.6, 7.0, 4, False),
        (3.0, 9.0, 4, False),
        (3.0, 9.6, 4, True),
        (3.5, 9.0, 4, False),
        (3.6, 9.0, None, True),
        (0.0, 0.0, 1, False),
    ],
)
def test_zone(mean: float, highest: float, zone: int | None, over_max: bool) -> None:
    found = classify(mean, highest)
    assert (zone, over_max) == (found.zone, found.over_max)
    assert found.fits == (zone is not None and not over_max)


def test_words_say_which_number_is_over() -> None:
    assert classify(0.5, 1.5).words == "zone 1 by its mean, but its highest is over 1.4"
    assert classify(4.0, 5.0).words == "above zone 4, whose mean ends at 3.5"


def test_a_mean_below_zero_is_refused() -> None:
    with pytest.raises(ValueError, match=r"-0\.1"):
        classify(-0.1, 1.0)
