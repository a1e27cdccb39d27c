"""The table for a spreadsheet."""

import csv
import io

import pytest

from sim.analysis.coverage import answer
from sim.analysis.maps import quantity
from sim.report.receivers import receivers_csv
from tests.support.synthetic_result import terrarium


def test_one_row_a_receiver_with_units_in_the_names() -> None:
    result = terrarium()
    rows = list(csv.DictReader(io.StringIO(receivers_csv(answer(result)), newline="")))
    assert len(rows) == len(result.area)
    last = rows[-1]
    assert (last["kind"], last["name"], last["cell"]) == ("sensor", "under tube", "11")
    assert float(last["z_m"]) == pytest.approx(0.01)
    assert {"x_m", "area_m2", "irradiance_W_m2", "irradiance_se_W_m2", "uvi", "uvi_se", "uvb_315_W_m2"} <= rows[
        0
    ].keys()
    assert float(rows[7]["uvi"]) == pytest.approx(quantity(result, "uvi")[:, 7].mean(), rel=1e-6)
    assert float(rows[0]["normal_z"]) == 1.0
