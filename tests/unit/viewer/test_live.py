"""A result whose lamps change while it is looked at says what it would say if it were read anew."""

import numpy as np
import pytest

from sim.analysis.coverage import answer
from sim.analysis.narrowing import narrowed
from sim.analysis.selection import Selection
from sim.tally.result import Result
from tests.support.synthetic_result import TUBE, make_result, terrarium_patches, tube_field
from viewer.layers import ROW, layers
from viewer.live import LiveResult
from viewer.pointing import Scenery

LAMPS = (("tube", TUBE, 0.75), ("coil", TUBE, 0.25))
LEVELS = (0.3, 1.0)


@pytest.fixture(scope="module")
def result() -> Result:
    return make_result(terrarium_patches(), tube_field(6.0), replicates=16, lamps=LAMPS)


@pytest.mark.parametrize("quantity", ["uvi", "uvb-320", "actinic"])
@pytest.mark.parametrize("part", ["value", "error"])
def test_cells_are_those_of_a_selection_at_these_levels(result: Result, quantity: str, part: str) -> None:
    live = LiveResult(Selection(result))
    live.change(quantity=quantity, part=part, levels=LEVELS)  # type: ignore[arg-type]
    shown = Selection(result, quantity, LEVELS, part)  # type: ignore[arg-type]
    rows = np.concatenate([layer.mesh.cell_data[ROW] for layer in layers(shown) if layer.role == "map"])
    np.testing.assert_allclose(live.cells(), shown.numbers[rows], rtol=1e-8)


def test_verdicts_and_hot_spots_are_those_of_the_whole_answer(result: Result) -> None:
    live = LiveResult(Selection(result, levels=LEVELS))
    now, whole = live.told(), answer(result, LEVELS)
    assert whole.hot_spots, "the result must have some"
    assert [(one.name, one.verdict, one.uvi.mean) for one in whole.zones] == [
        (one.name, one.verdict, one.uvi.mean) for one in now.zones
    ]
    assert [(spot.limit, spot.area, spot.peak.place.value) for spot in whole.hot_spots] == [
        (spot.limit, spot.area, spot.peak.place.value) for spot in now.hot_spots
    ]


def test_a_narrowed_result_has_the_receivers_of_its_groups(result: Result) -> None:
    groups = [result.group("zone", "hide"), result.group("surface", "floor")]
    few = narrowed(result, groups)
    assert [(0, groups[0].count), (groups[0].count, groups[1].count)] == [(g.first, g.count) for g in few.groups]
    for group in few.groups:
        old = result.group(group.kind, group.name)
        np.testing.assert_array_equal(few.centre[group.rows], result.centre[old.rows])
        np.testing.assert_array_equal(few.irradiance[:, group.rows], result.irradiance[:, old.rows])


@pytest.fixture(scope="module")
def scenery(result: Result) -> Scenery:
    return Scenery(result, layers(Selection(result)))


def test_a_line_of_sight_goes_through_the_wall_in_front_to_a_cell(result: Result, scenery: Scenery) -> None:
    found = scenery.met(np.array([0.21, -2.0, 0.41]), np.array([0.0, 1.0, 0.0]))
    assert found is not None
    assert ("back, x 21.0, y 60.0, z 41.0 cm", "back") == (found.place, found.name)
    assert found.row is not None
    # The cell of 5 cm that holds the point.
    assert np.abs(result.centre[found.row] - (0.225, 0.6, 0.425)).max() < 1e-9


def test_what_stands_before_a_map_hides_it(scenery: Scenery) -> None:
    lamp = scenery.met(np.array([0.6, 0.3, 2.0]), np.array([0.0, 0.0, -1.0]))
    assert lamp is not None
    assert ("tube", None, "lamp") == (lamp.name, lamp.row, lamp.words)
    ledge = scenery.met(np.array([0.45, 0.2, 0.5]), np.array([0.0, 0.0, -1.0]))
    assert ledge is not None
    assert "ledge.top" == ledge.name
    under = scenery.met(np.array([0.45, 0.2, 0.05]), np.array([0.0, 0.0, 1.0]))
    assert under is not None
    assert ("ledge.top", None, "side that is not read") == (under.name, under.row, under.words)


def test_beside_the_box_nothing_is_met(result: Result, scenery: Scenery) -> None:
    assert scenery.met(np.array([3.0, -2.0, 0.4]), np.array([0.0, 1.0, 0.0])) is None
    assert ("nothing that is read", "") == LiveResult(Selection(result)).reading(None)
