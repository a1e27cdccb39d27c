"""Dark parts of lamps: they hide nothing of a convex tube's own light, and what stands behind them.

Howell, A Catalog of Radiation Configuration Factors (1982), plane element to a finite cylinder.
"""

import pytest

from sim.simulate import simulate
from sim.tally.statistics import estimate
from tests.support.setups import scene_of
from tests.support.tube_light import opposite_tube

TUBE = """
title = "A tube with dark ends"
[[lamps]]
name = "tube"
kind = "tube"
from = ["-30 cm", "0 cm", "0 cm"]
to = ["30 cm", "0 cm", "0 cm"]
radius = "13 mm"
dark_ends = "15 cm"
body = "black"
spectrum = { lines = [{ at = "310 nm" }] }
output = { radiant = "1 W" }
"""
LIMBS = """
title = "Limbs over a housing"
[[lamps]]
name = "compact"
kind = "compact"
form = "limbs"
base = ["0 cm", "0 cm", "0 cm"]
limbs = 2
limb_length = "10 cm"
limb_radius = "6 mm"
ring = "28 mm"
body = "black"
spectrum = { lines = [{ at = "310 nm" }] }
output = { radiant = "1 W" }
"""


def meter(name: str, at: tuple[float, float, float], normal: str) -> str:
    x, y, z = (f'"{part:g} m"' for part in at)
    return f'[[sensors]]\nname = "{name}"\nkind = "point"\nat = [{x}, {y}, {z}]\nnormal = {normal}\n'


def readings(text: str) -> dict[str, tuple[float, float]]:
    """Mean and standard error at each meter [W/m2]."""
    result = simulate(scene_of(text), histories=640_000)
    values = estimate(result.irradiance[:, :, 0, 0])
    return {
        group.name: (float(values.mean[group.first]), float(values.se[group.first]))
        for group in result.of_kind("sensor")
    }


def test_dark_ends_hide_nothing_of_their_own_tube() -> None:
    offsets = [0.0, 0.3, 0.4, 0.5]
    text = TUBE + "".join(meter(f"at {offset}", (offset, 0.0, -0.3), "[0, 0, 1]") for offset in offsets)
    found = readings(text)
    # 0.733207, 0.425696, 0.250734, 0.132759 W/m2 by the formula; the last two meters look up at a dark end.
    for offset, exact in zip(offsets, [0.733207, 0.425696, 0.250734, 0.132759], strict=True):
        mean, error = found[f"at {offset}"]
        assert exact == pytest.approx(opposite_tube(1.0, 0.013, 0.6, 0.3, offset), rel=1e-5)
        assert abs(mean - exact) < 2e-3 * exact + 4.0 * error


def test_a_housing_shades_what_is_behind_it() -> None:
    behind = meter("behind", (0.0, 0.0, 0.2), "[0, 0, -1]") + meter("beside", (0.2, 0.0, -0.05), "[-1, 0, 0]")
    bare = readings(LIMBS + behind)
    housed = readings(LIMBS.replace("ring =", 'dark_base = "5 cm"\nbase_radius = "30 mm"\nring =') + behind)
    # From 15 cm over a disk of 30 mm radius the limbs, whose outermost edge is 20 mm off the axis, are all hidden.
    assert bare["behind"][0] > 20.0 * bare["behind"][1]
    assert (0.0, 0.0) == housed["behind"]
    mean, error = housed["beside"]
    assert abs(mean - bare["beside"][0]) < 4.0 * (error**2 + bare["beside"][1] ** 2) ** 0.5
