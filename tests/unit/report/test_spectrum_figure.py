"""The spectrum that is drawn holds the power of the lamp, no more and no less."""

import numpy as np
import pytest

from sim.report.drawing import figure_style
from sim.report.spectrum_figure import spectrum_figure
from sim.tally.lamp_record import LampRecord
from tests.support.synthetic_result import EDGES_NM, TUBE


@pytest.mark.parametrize("watts", [0.25, 3.0])
def test_the_curve_and_the_stems_add_up_to_the_power(watts: float) -> None:
    lamp = LampRecord("tube", watts, TUBE.scaled(watts), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0))
    with figure_style():
        above, _, beside = spectrum_figure([lamp], EDGES_NM).axes
    curve = above.lines[0].get_xydata()
    continuum = np.trapezoid(curve[:, 1], curve[:, 0])
    stems = sum(float(line.get_ydata().sum()) for line in beside.lines)
    # The curve is drawn at steps of 0.1 nm, and the band begins with a cut.
    assert continuum + stems == pytest.approx(1e3 * watts, rel=1e-3)
