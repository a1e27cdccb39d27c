"""Any mix of the lamps from stored sums is what the replicates themselves say: mean and standard error."""

from dataclasses import replace

import numpy as np
import pytest

from sim.analysis.dimming import LevelError, lamp_levels, lamp_parts
from sim.analysis.maps import quantity
from sim.spectra.spectrum import Spectrum
from sim.tally.result import Result
from sim.tally.statistics import estimate, estimate_parts
from tests.support.synthetic_result import TUBE, box_patches, make_result, tube_field

LAMPS = (("tube", TUBE, 0.6), ("coil", Spectrum.gaussian_band(312.0, 3.0), 0.3), ("panel", TUBE, 0.1))
LEVELS = [(1.0, 1.0, 1.0), (0.5, 1.0, 0.2), (0.0, 1.0, 0.0), (2.0, 0.0, 0.7), (0.0, 0.0, 0.0)]


@pytest.fixture(scope="module")
def result() -> Result:
    """Lamps whose noises are neither equal nor independent: one shared, one of each lamp's own."""
    made = make_result(box_patches(), tube_field(0.8), noise=0.3, replicates=16, lamps=LAMPS)
    rng = np.random.Generator(np.random.Philox(7))
    own = 1.0 + 0.2 * rng.standard_normal((*made.irradiance.shape[:3], 1))
    return replace(made, irradiance=(made.irradiance * own).astype(np.float32))


@pytest.mark.parametrize("levels", LEVELS)
@pytest.mark.parametrize("weighting", ["uvi", "uvb-320", "previtamin-d3", "actinic"])
def test_a_mix_is_what_the_mixed_replicates_say(
    result: Result, levels: tuple[float, float, float], weighting: str
) -> None:
    expected = estimate(quantity(result, weighting, levels))
    mixed = lamp_parts(result, weighting).mixed(levels)
    np.testing.assert_allclose(mixed.mean, expected.mean, rtol=1e-10, atol=1e-300)
    np.testing.assert_allclose(mixed.se, expected.se, rtol=1e-8, atol=1e-300)
    assert expected.replicates == mixed.replicates


def test_opposite_noises_cancel_in_the_sum() -> None:
    noise = np.random.Generator(np.random.Philox(3)).standard_normal((8, 5))
    parts = estimate_parts(np.stack([1.0 + noise, 1.0 - noise], axis=1))
    np.testing.assert_allclose(parts.mixed([1.0, 1.0]).mean, 2.0, rtol=1e-12)
    np.testing.assert_allclose(parts.mixed([1.0, 1.0]).se, 0.0, atol=1e-8)
    np.testing.assert_allclose(parts.mixed([1.0, -1.0]).se, 2.0 * estimate(noise).se, rtol=1e-12)


def test_more_receivers_than_are_read_at_a_time(result: Result) -> None:
    tiled = np.concatenate([result.irradiance] * 5, axis=1)
    assert tiled.shape[1] > 4096
    many, few = (lamp_parts(replace(result, irradiance=one)) for one in (tiled, result.irradiance))
    np.testing.assert_array_equal(many.mean[:, -few.mean.shape[1] :], few.mean)
    np.testing.assert_allclose(many.covariance[:, : few.covariance.shape[1]], few.covariance, rtol=1e-12)


def test_one_replicate_has_no_error() -> None:
    with pytest.raises(ValueError, match="two replicates"):
        estimate_parts(np.ones((1, 2, 3)))


def test_levels_by_name(result: Result) -> None:
    assert [1.0, 0.5, 1.0] == lamp_levels(result, {"coil": 0.5}).tolist()
    assert [0.0, 0.0, 0.25] == lamp_levels(result, {"panel": 0.25, "tube": 3.0}, alone="panel").tolist()


@pytest.mark.parametrize(
    ("levels", "alone", "told"),
    [
        ({"bulb": 1.0}, None, "no lamp called 'bulb' in this result; there are: tube, coil, panel"),
        ({}, "bulb", "no lamp called 'bulb'"),
        ({"tube": -0.5}, None, "level -0.5 of lamp 'tube' is no factor of 0 or more"),
        ({"tube": float("nan")}, None, "level nan of lamp 'tube'"),
    ],
)
def test_levels_that_no_lamp_can_have(result: Result, levels: dict[str, float], alone: str | None, told: str) -> None:
    with pytest.raises(LevelError, match=told):
        lamp_levels(result, levels, alone)
