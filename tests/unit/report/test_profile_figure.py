"""The curve under a lamp: a scale on which the exposure zones can be told apart, and a band that is the interval."""

import re

import numpy as np
import pytest

from sim.report.curve import Curve
from sim.report.drawing import figure_style, inline_svg
from sim.report.lengths import INCHES
from sim.report.profile_figure import profile_figure
from sim.tally.statistics import Estimate

DISTANCE = np.array([0.1, 0.2, 0.4])


@pytest.mark.parametrize(
    ("uvi", "scale"), [([40.0, 20.0, 6.0], "log"), ([4.0, 2.0, 1.0], "linear"), ([9.0, 2.0, 0.4], "log")]
)
def test_zones_keep_apart(uvi: list[float], scale: str) -> None:
    curve = Curve("tube", DISTANCE, Estimate(np.array(uvi), np.full(3, 0.1), 64))
    with figure_style():
        figure = profile_figure([curve], INCHES)
    (axes,) = figure.axes
    assert scale == axes.get_yscale()
    places = axes.transData.transform([(0.0, text.xy[1]) for text in axes.texts])[:, 1]
    assert np.diff(np.sort(places)).min() > 8.0  # height of the words in points


def test_the_band_is_the_interval_and_distances_are_in_the_unit() -> None:
    curve = Curve("tube", DISTANCE, Estimate(np.array([4.0, 2.0, 1.0]), np.array([0.2, 0.1, 0.05]), 64))
    with figure_style():
        (axes,) = profile_figure([curve], INCHES).axes
    np.testing.assert_allclose(axes.lines[0].get_xdata(), DISTANCE / 0.0254, rtol=1e-12)
    corners = axes.collections[0].get_paths()[0].vertices
    at = np.isclose(corners[:, 0], 0.1 / 0.0254)
    np.testing.assert_allclose(np.ptp(corners[at, 1]), 2.0 * curve.uvi.half_width[0], rtol=1e-9)


@pytest.mark.parametrize("uvi", [0.2, 4.0, 900.0, 90_000.0])
def test_the_name_of_the_scale_is_within_the_figure_however_wide_its_numbers(uvi: float) -> None:
    curve = Curve("tube", DISTANCE, Estimate(uvi * np.array([1.0, 0.5, 0.1]), np.full(3, 0.01 * uvi), 64))
    with figure_style():
        svg = inline_svg(profile_figure([curve], INCHES), "curve")
    found = re.search(r'transform="rotate\([^ ]* ([\d.]+)[^>]*>UV index, looking at the lamp<', svg)
    assert found is not None, svg[-3000:]
    assert float(found[1]) > 8.0  # the name's baseline; its letters are nearly so high
