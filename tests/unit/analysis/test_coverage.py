"""The whole scene's answer: gradients, the brightest place within reach, hot spots."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from sim.analysis.coverage import SceneAnswer, answer
from sim.analysis.verdict import CLOSE, INSIDE, NO_TARGET, OUTSIDE
from tests.support.synthetic_result import (
    Field,
    Patch,
    box_patches,
    make_result,
    terrarium,
    terrarium_patches,
    tube_field,
    uniform,
)

FLOOR = Patch("reach", "floor", (0, 0, 0.03), (1.2, 0, 0), (0, 0.6, 0), (24, 12))


def zone(name: str, role: str, **target: Any) -> Patch:  # noqa: ANN401
    detail = {"role": role, "mean": None, "max": None, "share": None, "height_m": 0.03} | target
    return Patch("zone", name, (0.2, 0.2, 0.03), (0.2, 0, 0), (0, 0.2, 0), (4, 4), detail)


def spot_of(value: float, elsewhere: float) -> Field:
    def field(centre: np.ndarray, normal: np.ndarray) -> np.ndarray:
        return np.where(np.hypot(centre[:, 0] - 0.975, centre[:, 1] - 0.475) < 0.01, value, elsewhere)

    return field


def patch_of(x: float, value: float) -> Field:
    """A bright square of 12 cm about a place on the floor, and little elsewhere."""

    def field(centre: np.ndarray, normal: np.ndarray) -> np.ndarray:
        return np.where(np.abs(centre[:, :2] - np.array([x, 0.3])).max(axis=1) < 0.06, value, 1.5)

    return field


def scene(field: Field, *patches: Patch, noise: float = 0.01) -> SceneAnswer:
    return answer(make_result([*box_patches(), *patches], field, noise=noise))


def test_brightest_place_within_reach_and_its_lamp() -> None:
    told = scene(spot_of(5.0, 1.0), FLOOR)
    assert told.peak is not None
    assert told.peak.place.group == "floor"
    assert told.peak.place.position == pytest.approx((0.975, 0.475, 0.03))
    assert told.peak.place.value == pytest.approx(5.0, rel=0.01)
    assert told.peak.lamp == "tube"
    assert told.peak.lamp_distance == pytest.approx(np.sqrt(0.375**2 + 0.175**2 + 0.52**2))


def test_surfaces_out_of_reach_do_not_count() -> None:
    # The ceiling beside the lamp is far brighter than anything that can be reached.
    told = answer(terrarium())
    assert told.peak is not None
    assert told.peak.place.value < max(row.high.value for row in told.surfaces) / 3


def test_nothing_within_reach_is_said() -> None:
    told = scene(uniform(1.0), zone("top", "out of reach"))
    assert told.peak is None
    assert told.hot_spots == ()


def test_hot_spot_outside_the_zone_takes_the_limit_of_the_basking_zone() -> None:
    told = scene(spot_of(9.0, 1.5), FLOOR, zone("basking", "basking", mean=[1.0, 2.6], max=7.4))
    assert [(spot.peak.place.group, spot.limit, spot.limit_from, spot.sure) for spot in told.hot_spots] == [
        ("floor", 7.4, "basking", True)
    ]
    assert told.hot_spots[0].area == pytest.approx(0.05**2)
    assert told.hot_spots[0].area_surely == pytest.approx(0.05**2)
    assert told.zones[0].verdict.outcome == INSIDE
    assert told.outcome == OUTSIDE


def test_what_a_zone_tells_is_not_told_of_the_surface_under_it_again() -> None:
    over = zone("basking", "basking", max=7.4)
    for field, expected in (
        (spot_of(9.0, 1.5), ["floor"]),  # elsewhere on the surface
        (patch_of(0.3, 9.0), ["basking"]),  # within the zone
        (patch_of(0.42, 9.0), ["basking", "floor"]),  # at its edge, and beyond
    ):
        assert expected == sorted(spot.peak.place.group for spot in scene(field, FLOOR, over).hot_spots)
    raised = replace(over, origin=(0.2, 0.2, 0.04))
    found = scene(patch_of(0.3, 9.0), FLOOR, raised).hot_spots
    assert ["basking", "floor"] == sorted(spot.peak.place.group for spot in found)


def test_lowest_limit_counts_for_all_that_can_go_everywhere() -> None:
    zones = [zone("hot", "basking", max=7.4), zone("mild", "basking", max=3.0)]
    assert scene(uniform(1.0), FLOOR, *zones).limit == (3.0, "mild")


def test_a_refuge_limits_itself_alone() -> None:
    told = scene(uniform(1.0), FLOOR, zone("hide", "refuge", mean=[0.0, 0.7], max=0.7))
    assert told.limit is None
    assert [spot.peak.place.group for spot in told.hot_spots] == ["hide"]


def test_noise_around_the_limit_is_open() -> None:
    told = scene(uniform(2.9), FLOOR, zone("mild", "basking", max=3.0), noise=0.2)
    assert told.hot_spots != ()
    assert not any(spot.sure for spot in told.hot_spots)
    assert (told.zones[0].verdict.outcome, told.outcome) == (CLOSE, CLOSE)


def test_no_zone_no_limit_no_verdict() -> None:
    told = scene(uniform(50.0), FLOOR)
    assert told.hot_spots == ()
    assert told.outcome == NO_TARGET


def test_gradient_is_taken_replicate_by_replicate() -> None:
    result = make_result(terrarium_patches(), tube_field(0.8), noise=0.0)
    # Noise that all receivers share drops out of a ratio, not of a difference: it must show in the difference alone
    # as far as the two means differ.
    factor = 1.0 + 0.1 * np.random.default_rng(5).standard_normal(64)
    shared = replace(result, irradiance=(result.irradiance * factor[:, None, None, None]).astype(np.float32))
    gradient = answer(shared).gradients[0]
    assert (gradient.basking, gradient.refuge) == ("basking", "hide")
    relative = float(gradient.difference.se / gradient.difference.mean)
    assert relative == pytest.approx(factor.std(ddof=1) / 8.0 / factor.mean(), rel=1e-3)
    assert gradient.really_darker
    assert gradient.distance == pytest.approx(np.linalg.norm([1.075 - 0.55, 0.15 - 0.25, 0.03 - 0.18]))


def test_levels_scale_the_answer() -> None:
    full, half = answer(terrarium()), answer(terrarium(), levels=[0.5])
    assert full.peak is not None
    assert half.peak is not None
    assert half.peak.place.value == pytest.approx(0.5 * full.peak.place.value)


def test_profiles_are_no_sensors() -> None:
    assert [row.name for row in answer(terrarium()).sensors] == ["meter", "back height"]
