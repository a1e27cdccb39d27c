"""Sections on the page: contour values, titles and units."""

import numpy as np
import pytest

from sim.analysis.coverage import answer
from sim.report.drawing import figure_style
from sim.report.lengths import CENTIMETRES, INCHES
from sim.report.page import report_page
from sim.report.section_figure import Plane, contour_values, section_figure
from sim.report.section_planes import section_planes
from tests.support.sectioned_result import sectioned


@pytest.mark.parametrize(
    ("highest", "expected"),
    [
        (0.0, []),
        (7.0, [0.1, 0.2, 0.5, 1.0, 2.0, 5.0]),
        (400.0, [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0]),
        (0.15, [0.0002, 0.0005, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1]),
    ],
)
def test_contours_are_round_and_span_three_decades(highest: float, expected: list[float]) -> None:
    np.testing.assert_allclose(contour_values(highest), expected, rtol=1e-12)


def test_a_plane_holds_bodies_and_zones_in_the_unit() -> None:
    told = answer(sectioned())
    (plane,) = section_planes(told.maps, INCHES)
    assert ("y 11.81 in, from the front", ("x", "z")) == (plane.title, plane.labels)
    np.testing.assert_allclose(plane.across, (0.0, 1.2 / 0.0254), atol=1e-9)
    # The basking zone of 0.45 to 0.65 m lies in the plane, the hide does not.
    (mark,) = plane.marks
    np.testing.assert_allclose((*mark.across, *mark.up), np.array([0.45, 0.65, 0.18, 0.18]) / 0.0254, rtol=1e-9)
    assert len(plane.lines) == 2
    page = report_page(told, "2026-01-05", unit=INCHES)
    assert ("figure-sections-1" in page, "UV index, facing up" in page) == (True, True)


def test_every_value_of_a_contour_is_written_beside_it() -> None:
    told = answer(sectioned())
    with figure_style():
        figure = section_figure(section_planes(told.maps, CENTIMETRES), CENTIMETRES)
    written = {text.get_text() for text in figure.axes[0].texts}
    assert {"1", "2", "5"} <= written


def test_noise_draws_no_contours() -> None:
    rng = np.random.Generator(np.random.Philox(4))
    mean = 1.0 + 0.4 * rng.standard_normal((12, 16))
    noisy = Plane("noise", ("x", "z"), (0, 80), (0, 60), mean, np.full_like(mean, 0.4), np.zeros((0, 2, 2)))
    with figure_style():
        assert [] == list(section_figure([noisy], CENTIMETRES).axes[0].texts)


def test_figures_on_one_scale_tell_their_own_highest_cell() -> None:
    planes = section_planes(answer(sectioned()).maps, CENTIMETRES)
    with figure_style():
        plain_bar, scaled_bar = (section_figure(planes, CENTIMETRES, highest=top).axes[-1] for top in (None, 500.0))
    assert plain_bar.get_xlabel() == scaled_bar.get_xlabel()
    assert scaled_bar.get_xticklabels()[-1].get_text() == "200"
