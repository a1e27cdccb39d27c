"""Cutting needs no GL."""

import numpy as np
import pytest

from sim.analysis.selection import Selection
from tests.support.synthetic_result import terrarium
from viewer.cameras import View, camera_for
from viewer.cutting import Cut, cut_open
from viewer.layers import VALUE, layers

SHOWN = layers(Selection(terrarium(replicates=4)))
CORNERS = np.array([(x, y, z) for x in (0.0, 1.2) for y in (0.0, 0.6) for z in (0.0, 0.6)])


@pytest.mark.parametrize(
    ("view", "cut", "behind"),
    [("front", Cut(1, 0.4), 1), ("back", Cut(1, 0.4), -1), ("left", Cut(0, 0.5), 1), ("top", Cut(2, 0.3), -1)],
)
def test_what_is_behind_the_plane_stays(view: View, cut: Cut, behind: int) -> None:
    kept, lines = cut_open(SHOWN, cut, camera_for(CORNERS, view, 1.0))
    points = np.concatenate([layer.mesh.points for layer in kept])
    assert (behind * (points[:, cut.axis] - cut.at)).min() > -1e-6
    np.testing.assert_allclose(lines.points[:, cut.axis], cut.at, atol=1e-6)


def test_area_and_values_of_the_rest_are_untouched() -> None:
    kept, _ = cut_open(SHOWN, Cut(1, 0.4), camera_for(CORNERS, "front", 1.0))
    before, after = (next(layer.mesh for layer in some if layer.name == "floor") for some in (SHOWN, kept))
    assert after.area == pytest.approx(1.2 * 0.2, rel=1e-5)
    # A plane between two rows of cells leaves whole cells, with their own numbers.
    rows = before.cell_centers().points[:, 1] > 0.4
    np.testing.assert_allclose(np.sort(after.cell_data[VALUE]), np.sort(before.cell_data[VALUE][rows]), rtol=1e-12)
    assert "cut open at y = 40 cm" == Cut(1, 0.4).words


@pytest.mark.parametrize("at", [-0.5, 3.0])
def test_a_plane_that_misses_the_model_is_refused(at: float) -> None:
    with pytest.raises(ValueError, match=r"the model lies between y = 0 and 60 cm and cannot be cut open at y ="):
        cut_open(SHOWN, Cut(1, at), camera_for(CORNERS, "front", 1.0))
