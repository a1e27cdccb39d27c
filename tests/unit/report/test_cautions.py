"""Cautions of a scene: each appears where it must and nowhere else."""

from dataclasses import replace

import numpy as np
import pytest

from sim.analysis.coverage import answer
from sim.report.cautions import SHORT, cautions
from sim.spectra.spectrum import Spectrum
from sim.tally.result import Energy, Result
from tests.support.synthetic_result import Patch, make_result, terrarium, terrarium_patches, uniform

MILD = Spectrum.gaussian_band(320.0, 10.0)
BASKING = {"role": "basking", "mean": [1.0, 2.6], "max": 7.4, "share": None}
REFUGE = {"role": "refuge", "mean": [0.0, 0.7], "max": 0.7, "share": None}


def told(result: Result) -> str:
    return "\n".join(cautions(answer(result)))


def zone(name: str, detail: dict[str, object], z: float = 0.03) -> Patch:
    return Patch("zone", name, (0.5, 0.2, z), (0.2, 0, 0), (0, 0.2, 0), (4, 4), detail)


def mild(*patches: Patch, uvi: float = 1.5) -> Result:
    return make_result(patches, uniform(uvi), lamps=[("tube", MILD, 1.0)])


def test_light_below_298_nm() -> None:
    assert "below 298 nm" in told(terrarium())
    assert "below 298 nm" not in told(mild(zone("basking", BASKING)))


def test_missing_refuge_and_refuge_as_bright_as_the_basking_place() -> None:
    assert "no refuge" in told(mild(zone("basking", BASKING)))
    both = told(mild(zone("basking", BASKING), zone("hide", REFUGE)))
    assert "no refuge" not in both
    assert "Refuge hide is not darker than basking" in both


def test_near_the_lamp() -> None:
    # The lamp's middle is at 55 cm.
    assert "cm from the middle of tube. This close" in told(mild(zone("basking", BASKING, z=0.5)))
    assert "This close" not in told(mild(zone("basking", BASKING)))


def test_hot_spot() -> None:
    assert "that is over 7.4" in told(make_result(terrarium_patches(), uniform(9.0)))
    assert "7.4" not in told(terrarium())


def test_minutes_for_people() -> None:
    # 100 J/m2 at UVI 1 = 0.025 W/m2 (WHO 2002; CIE S 007/E:1998): 66.7 min.
    assert "standard erythema dose in 67 ± 1 min" in told(
        make_result([zone("basking", BASKING)], uniform(1.0), noise=0.0)
    )


def test_light_given_up_and_wavelengths_left_out() -> None:
    result = terrarium()
    energy = Energy(np.ones((1, 7)), np.zeros((1, 7)), 0.1 * np.ones((1, 7)), 0.9 * np.ones((1, 1, 7)), ("floor",))
    assert "10 % of the light was given up" in told(replace(result, energy=energy))
    assert "given up" not in told(result)
    narrow = replace(result, edges_nm=np.linspace(280.0, 400.0, 8))
    assert "Only 280 to 400 nm was traced" in told(narrow)


@pytest.mark.parametrize("result", [terrarium(), mild(zone("basking", BASKING), uvi=0.0)], ids=["terrarium", "dark"])
def test_the_least_is_always_said(result: Result) -> None:
    assert cautions(answer(result))[-1] == SHORT
