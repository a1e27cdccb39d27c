"""Numbers of G. W. Ferguson et al., Zoo Biology 29, 317-334, 2010, as common practice rounds them."""

import math

import pytest

from sim.scene.exposure_zone import EXPOSURE_ZONES, exposure_zone_of


def test_the_bands_follow_each_other_without_gap() -> None:
    zones = [EXPOSURE_ZONES[number] for number in (1, 2, 3, 4)]
    assert zones[0].low == 0.0
    assert [zone.low for zone in zones[1:]] == [zone.high for zone in zones[:-1]]
    assert [zone.highest for zone in zones] == [1.4, 3.0, 7.4, 9.5]
    assert all(zone.highest > zone.high for zone in zones)


def test_the_middles_of_the_outer_zones_are_the_medians_of_the_paper() -> None:
    """The abstract gives medians of 0.35 for zone 1 and 3.1, one digit less, for zone 4."""
    assert (EXPOSURE_ZONES[1].low + EXPOSURE_ZONES[1].high) / 2 == pytest.approx(0.35)
    assert (EXPOSURE_ZONES[4].low + EXPOSURE_ZONES[4].high) / 2 == pytest.approx(3.1, abs=0.0501)


@pytest.mark.parametrize(
    ("mean", "number"),
    [
        (0.0, 1),
        (0.5, 1),
        (math.nextafter(0.7, 0.0), 1),
        (0.7, 2),
        (math.nextafter(1.0, 0.0), 2),
        (1.0, 3),
        (2.6, 4),
        (3.0, 4),
        (3.5, 4),
        (math.nextafter(3.5, 4.0), None),
        (11.0, None),
    ],
)
def test_a_mean_on_a_boundary_belongs_to_the_brighter_zone(mean: float, number: int | None) -> None:
    assert exposure_zone_of(mean) == number


@pytest.mark.parametrize("mean", [-0.1, math.nan])
def test_no_zone_for_what_is_no_reading(mean: float) -> None:
    with pytest.raises(ValueError, match="cannot be"):
        exposure_zone_of(mean)
