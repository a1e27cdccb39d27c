"""A table of readings of a tube against the exact irradiance under a Lambertian cylinder.

Howell, A Catalog of Radiation Configuration Factors (1982): plane element to a finite cylinder, twice the factor with
the element's normal through one end. Values for 1 W from a tube of 60 cm by 13 mm radius, opposite its middle.
"""

from collections.abc import Callable
from math import atan, pi, sqrt

import pytest

from sim.simulate import simulate
from sim.spectra.weighting import WEIGHTINGS
from sim.tally.lamp_record import LampRecord
from sim.tally.result import Result
from sim.tally.statistics import estimate
from tests.support.setups import scene_of

EXACT = {10: 2.625542, 20: 1.231646, 30: 0.733207, 40: 0.481028, 60: 0.246185}
"""Distance [cm] to irradiance [W/m2] for 1 W."""
WATTS = 1.7
SCENE = """
title = "A tube by its table"
[[lamps]]
name = "tube"
kind = "tube"
from = ["-30 cm", "0 cm", "0 cm"]
to = ["30 cm", "0 cm", "0 cm"]
radius = "13 mm"
spectrum = {{ lines = [{{ at = "300 nm" }}] }}
output = {{ readings = [{rows}], setting = "bare" }}
{more}
[[sensors]]
name = "meter"
kind = "point"
at = ["0 cm", "0 cm", "-30 cm"]
towards = "tube"
"""
PER_WATT = 40.0 * float(WEIGHTINGS["uvi"]([300.0])[0])


def uvi(distance: int) -> float:
    return WATTS * PER_WATT * EXACT[distance]


def traced(rows: list[str], more: str = "") -> Result:
    return simulate(scene_of(SCENE.format(rows=", ".join(rows), more=more)), histories=64_000)


def row(distance: int, factor: float = 1.0) -> str:
    return f'{{ at = "{distance} cm", uvi = {factor * uvi(distance):.6g} }}'


def power(lamp: LampRecord) -> float:
    return lamp.radiant_power


def test_one_power_meets_all_rows_of_a_right_table() -> None:
    by_uvb = '{ at = "60 cm", uvb = "' + f"{WATTS * EXACT[60]:.6g}" + ' W/m2" }'
    (lamp,) = traced([*(row(distance) for distance in (10, 20, 30, 40)), by_uvb]).lamps
    # The prism that stands for the tube differs from it by less than 0.1 %, and the tracing by 0.2 %.
    assert power(lamp) == pytest.approx(WATTS, rel=5e-3)
    assert [0.1, 0.2, 0.3, 0.4, 0.6] == [reading.distance for reading in lamp.readings]
    assert [0.0] * 5 == pytest.approx([reading.difference for reading in lamp.readings], abs=8e-3)
    assert lamp.agreement is not None
    assert lamp.agreement.freedom == 4
    assert not lamp.agreement.doubtful
    # Five rows of 5 % each: 1.96 x 5 % / sqrt(5).
    assert lamp.power_range == pytest.approx((1 - 0.0438, 1 + 0.0438), abs=1e-3)


def test_a_wrong_row_is_noticed() -> None:
    (lamp,) = traced([row(10), row(20), row(30), row(40, factor=1.3)]).lamps
    assert lamp.agreement is not None
    assert lamp.agreement.doubtful
    differences = [reading.difference for reading in lamp.readings]
    assert max(range(4), key=lambda index: abs(differences[index])) == 3
    # chi-square 4 x 30 % of the spread, so the range is wider than the stated errors alone make it.
    assert lamp.power_range[1] - 1.0 > 1.5 * 1.96 * 0.05 / 2


def test_what_is_left_of_the_lamp_scales_all_but_the_readings() -> None:
    rows = [row(20), row(30)]
    new, worn = traced(rows), traced(rows, 'maintained = "80 %"\nlevel = "50 %"')
    assert power(worn.lamps[0]) == pytest.approx(0.4 * power(new.lamps[0]), rel=1e-12)
    assert worn.lamps[0].readings == new.lamps[0].readings
    assert worn.irradiance == pytest.approx(0.4 * new.irradiance, rel=1e-6)


def test_the_error_of_the_set_up_is_in_the_error_of_the_run() -> None:
    stated, fitted = (
        simulate(scene_of(text), histories=640_000)
        for text in (
            SCENE.replace('{{ readings = [{rows}], setting = "bare" }}', f'{{{{ radiant = "{WATTS} W" }}}}').format(
                more=""
            ),
            SCENE.format(rows=f"{row(20)}, {row(30)}", more=""),
        )
    )
    errors = [estimate(result.irradiance[:, 0, 0, 0]) for result in (stated, fitted)]
    assert float(errors[1].mean) == pytest.approx(WATTS * EXACT[30], rel=5e-3)
    assert float(errors[1].se) > 1.1 * float(errors[0].se)


FLAT = """
title = "A flat lamp by a reading"
[[lamps]]
name = "lamp"
{form}
spectrum = {{ lines = [{{ at = "300 nm" }}] }}
output = {{ readings = [{{ at = "20 cm", uvi = {near} }}, {{ at = "40 cm", uvi = {far} }}], setting = "bare" }}
[[sensors]]
name = "meter"
kind = "point"
at = ["0 cm", "0 cm", "-30 cm"]
normal = [0.0, 0.0, 1.0]
"""
DISC = 'kind = "spot"\nat = ["0 cm", "0 cm", "0 cm"]\ndiameter = "10 cm"\nbeam = "120 deg"'
SQUARE = (
    'kind = "panel"\ncorner = ["-5 cm", "-5 cm", "0 cm"]\nedge_u = ["0 cm", "10 cm", "0 cm"]\n'
    'edge_v = ["10 cm", "0 cm", "0 cm"]'
)


def under_disc(distance: float) -> float:
    """Irradiance of a matt disc of 1 W and 5 cm radius, opposite its middle: r2 / (r2 + d2) of its exitance."""
    return 1.0 / (pi * (0.05**2 + distance**2))


def under_square(distance: float) -> float:
    """That of a matt square of 1 W and 10 cm: four times the factor of a plane element below a corner (Howell)."""
    a = 0.05 / distance
    return 4.0 / 0.01 * a / sqrt(1 + a * a) * atan(a / sqrt(1 + a * a)) / pi


@pytest.mark.parametrize(("form", "under"), [(DISC, under_disc), (SQUARE, under_square)], ids=["disc", "square"])
def test_lamps_whose_own_face_is_read(form: str, under: Callable[[float], float]) -> None:
    near, far = (WATTS * PER_WATT * under(distance) for distance in (0.2, 0.4))
    (lamp,) = simulate(scene_of(FLAT.format(form=form, near=near, far=far)), histories=64).lamps
    assert power(lamp) == pytest.approx(WATTS, rel=2e-3)
    assert [(0.2, near), (0.4, far)] == [
        (reading.distance, pytest.approx(reading.computed, rel=2e-3)) for reading in lamp.readings
    ]
