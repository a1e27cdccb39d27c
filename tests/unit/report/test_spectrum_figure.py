"""The spectrum that is drawn holds the power of the lamp, no more and no less."""

import re

import numpy as np
import pytest

from sim.report.drawing import figure_style, inline_svg
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


@pytest.mark.parametrize("letters", [1, 60])
def test_names_of_many_lamps_stand_above_the_curves_and_no_two_curves_look_alike(letters: int) -> None:
    lamps = [LampRecord(f"{n:0{letters}d}", 1.0, TUBE, (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)) for n in range(9)]
    with figure_style():
        figure = spectrum_figure(lamps, EDGES_NM)
        figure.draw_without_rendering()
        above = figure.axes[0]
        legend, graph = above.get_legend().get_window_extent(), above.get_window_extent()
        assert legend.y0 >= graph.y1
        assert legend.y1 <= figure.bbox.y1
        assert legend.x1 <= figure.bbox.x1
    assert len({(line.get_color(), line.get_linestyle()) for line in above.lines[:9]}) == 9


@pytest.mark.parametrize("watts", [0.001, 0.5, 60.0, 600.0])
def test_names_of_scales_are_within_the_figure_however_wide_their_numbers(watts: float) -> None:
    lamp = LampRecord("tube", watts, TUBE.scaled(watts), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0))
    with figure_style():
        figure = spectrum_figure([lamp], EDGES_NM)
        svg = inline_svg(figure, "spectrum")
    left, right = (
        float(re.findall(rf'transform="rotate\([^ ]* ([\d.]+)[^>]*>{name}<', svg)[0])
        for name in ("continuum, mW/nm", r"lines \(stems\), mW")
    )
    # Places of baselines: letters are nearly so high on the left, and have descenders on the right.
    assert left > 8.0
    assert right < 72.0 * figure.get_figwidth() - 2.0
