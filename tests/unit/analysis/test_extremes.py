"""The highest and the lowest place."""

import numpy as np
import pytest

from sim.analysis.extremes import highest, highest_place, lowest, lowest_place
from sim.analysis.maps import Maps
from sim.tally.statistics import estimate, t_factor
from tests.support.synthetic_result import make_result, terrarium_patches, tube_field

EQUAL = np.full(3, 1.0 / 3.0)


def test_without_noise_it_is_the_greatest_and_the_least() -> None:
    values = np.tile([1.0, 3.0, 2.0], (6, 1))
    top, bottom = highest(values, EQUAL), lowest(values, EQUAL)
    assert (top.index, float(top.found.mean), float(top.found.se), top.bound, top.settled) == (1, 3.0, 0.0, 3.0, True)
    assert (bottom.index, float(bottom.found.mean), bottom.on_map, bottom.bound) == (0, 1.0, 1.0, 1.0)


def test_each_half_is_read_where_the_other_half_picks() -> None:
    # Even replicates are brightest in cell 0, odd ones in cell 1; both read 1 where the other half picks.
    values = np.array([[5.0, 1.0, 0.0], [1.0, 5.0, 0.0]] * 4)
    pick = highest(values, np.array([0.0, 0.0, 1.0]))
    assert float(pick.found.mean) == 1.0
    assert pick.on_map == 3.0
    assert not pick.settled


def test_a_cell_that_stands_out_is_read_by_all_replicates() -> None:
    values = np.array([[9.0, 1.0, 0.0], [7.0, 1.0, 0.0]] * 4)
    pick = highest(values, EQUAL)
    assert (float(pick.found.mean), pick.settled) == (8.0, True)
    assert float(pick.found.se) == float(estimate(values[:, 0]).se)


def test_the_error_is_widened_for_halves_that_pick_alike() -> None:
    values = np.array([[5.0, 1.0, 0.0], [1.0, 5.0, 0.0], [5.5, 1.5, 0.0], [1.5, 5.5, 0.0]] * 2)
    plain = estimate([1.0, 1.0, 1.5, 1.5] * 2).se
    assert float(highest(values, np.array([0.0, 0.0, 1.0])).found.se) == pytest.approx(float(plain) * 1.36**0.5)


def test_it_is_never_below_the_mean_of_the_area() -> None:
    values = np.array([[5.0, 1.0, 4.0], [1.0, 5.0, 4.0]] * 4)
    assert float(highest(values, EQUAL).found.mean) == pytest.approx(values.mean())
    assert float(lowest(-values, EQUAL).found.mean) == pytest.approx(-values.mean())


def test_the_bound_is_bonferronis() -> None:
    values = np.array([[1.0, 0.0], [3.0, 0.0], [2.0, 0.0], [2.0, 0.0]])
    se = values[:, 0].std(ddof=1) / 2.0
    assert highest(values, np.array([0.5, 0.5])).bound == pytest.approx(2.0 + t_factor(4, 1.0 - 0.05 / 2) * se)


@pytest.mark.parametrize("values", [np.ones((1, 3)), np.ones((4, 0))], ids=["one replicate", "no cell"])
def test_too_little_is_refused(values: np.ndarray) -> None:
    with pytest.raises(ValueError, match=r"at least two replicates|no cells"):
        highest(values, np.full(values.shape[1], 1.0))


def test_places_carry_their_group_and_position() -> None:
    result = make_result(terrarium_patches(), tube_field(1.0), noise=0.0)
    groups = result.of_kind("surface")
    maps = Maps(result)
    top, bottom = highest_place(result, groups, maps.uvi), lowest_place(result, groups, maps.uvi)
    assert top.group == "ceiling"
    assert top.position[2] == pytest.approx(0.6)
    assert top.value == pytest.approx(
        maps.uvi[0, [row for g in groups for row in range(g.first, g.first + g.count)]].max()
    )
    assert bottom.group == "ledge.front"


def test_cells_without_area_are_no_places() -> None:
    result = make_result(terrarium_patches(), tube_field(1.0), noise=0.0)
    ceiling = result.group("surface", "ceiling")
    values = Maps(result).uvi
    top = highest_place(result, (ceiling,), values)
    result.area[top.row] = 0.0
    assert highest_place(result, (ceiling,), values).row != top.row
