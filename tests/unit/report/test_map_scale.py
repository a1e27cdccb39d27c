"""One colour scale for all maps."""

import numpy as np
import pytest

from sim.analysis.maps import Maps
from sim.report.map_scale import map_scale
from sim.report.panels import Panel, panel
from tests.support.synthetic_result import Patch, make_result

PATCH = Patch("surface", "floor", (0, 0, 0), (1.0, 0, 0), (0, 1.0, 0), (10, 10))


def panel_of(values: np.ndarray) -> Panel:
    result = make_result([PATCH], lambda centre, normal: values, noise=0.0)
    return panel(Maps(result), result.groups[0])


def test_places_within_reach_set_the_scale_and_brighter_walls_share_its_top() -> None:
    walls, reach = np.full(100, 1.0), np.linspace(0.0, 3.9, 100)
    walls[7] = 80.0
    scale = map_scale([panel_of(reach)], [panel_of(walls)])
    assert scale.top == 4.0
    assert scale.cut
    assert scale.highest == pytest.approx(80.0, rel=1e-3)
    assert all(0.0 < level < scale.top for level in scale.levels)


def test_without_reach_most_of_the_walls_set_it() -> None:
    scale = map_scale([], [panel_of(np.linspace(0.0, 2.0, 100))])
    assert 1.8 <= scale.top <= 2.0


@pytest.mark.parametrize("panels", [[], [panel_of(np.zeros(100))]], ids=["nothing", "darkness"])
def test_no_light_is_no_error(panels: list[Panel]) -> None:
    scale = map_scale([], panels)
    assert (scale.top, scale.cut) == (1.0, False)
