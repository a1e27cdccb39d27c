"""Contours: islands of noise are left out, and no two values stand on one another."""

import numpy as np
import pytest
from matplotlib.figure import Figure

from sim.report.contours import draw_contours
from sim.report.drawing import figure_style

MIDDLES = (np.arange(40) + 0.5, np.arange(30) + 0.5)


def drawn(values: np.ndarray, levels: list[float], least: float, apart: float) -> tuple[list[str], np.ndarray, int]:
    """Return what is written, where, and how many pieces of line there are."""
    with figure_style():
        axes = Figure().add_subplot()
        draw_contours(axes, MIDDLES, values, levels, lambda level: "white", least=least, apart=apart)
    places = np.array([text.get_position() for text in axes.texts]).reshape(-1, 2)
    pieces = sum(len(lines.get_segments()) for lines in axes.collections)
    return [text.get_text() for text in axes.texts], places, pieces


def test_each_value_is_written_once_on_its_line() -> None:
    across, _ = np.meshgrid(*MIDDLES)
    words, places, pieces = drawn(across, [10.0, 20.0, 30.0], 5.0, 2.0)
    assert (["10", "20", "30"], 3) == (words, pieces)
    np.testing.assert_allclose(places[:, 0], [10.0, 20.0, 30.0], atol=1e-9)


def test_an_island_of_one_cell_is_left_out() -> None:
    values = np.zeros((30, 40))
    values[15, 20] = 1.0
    assert ([], 0) == (lambda told: (told[0], told[2]))(drawn(values, [0.5], 8.0, 1.0))
    assert (["0.5"], 1) == (lambda told: (told[0], told[2]))(drawn(values, [0.5], 1.0, 1.0))


@pytest.mark.parametrize("apart", [1.0, 4.0, 9.0])
def test_values_keep_their_distance(apart: float) -> None:
    across, up = np.meshgrid(*MIDDLES)
    steep = 10.0 * across + 0.01 * up
    words, places, pieces = drawn(steep, [100.0, 101.0, 102.0, 103.0, 104.0, 105.0, 106.0, 200.0], 5.0, apart)
    assert pieces == 8
    assert ("100" in words, "200" in words) == (True, True)
    gaps = np.linalg.norm(places[:, None] - places[None, :], axis=2)[~np.eye(len(places), dtype=bool)]
    assert gaps.min() > apart
