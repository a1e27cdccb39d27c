"""What is gathered is the same, to the last bit, whether surfaces are read or not."""

from dataclasses import replace

import numpy as np

from tests.support.scene_text import VIVARIUM
from tests.support.setups import setup_of


def test_gathered_receivers_know_nothing_of_cells() -> None:
    whole = setup_of(VIVARIUM)
    lean = replace(whole, compiled=whole.compiled.without_cells())
    found, expected = lean.tallies(40, seed=3), whole.tallies(40, seed=3)
    gathered = len(whole.compiled.effort)
    assert (0, 0) == (found.cells.size, lean.compiled.cells)
    assert expected.cells.sum() > 0.0
    np.testing.assert_array_equal(found.crossed, expected.crossed)
    np.testing.assert_array_equal(found.paths, expected.paths)
    np.testing.assert_array_equal(found.direct, expected.direct[:, :, :gathered])
    np.testing.assert_array_equal(found.absorbed, expected.absorbed)


def test_its_groups_and_rows_are_those_that_are_gathered() -> None:
    whole = setup_of(VIVARIUM).compiled
    lean = whole.without_cells()
    assert "surface" in {group.kind for group in whole.groups}
    assert [group for group in whole.groups if group.kind != "surface"] == [
        replace(group, first=group.first + whole.cells) for group in lean.groups
    ]
    for group in lean.groups:
        there = whole.centre[group.first + whole.cells :][: group.count]
        np.testing.assert_array_equal(lean.centre[group.rows], there)
    assert len(lean.area) == len(lean.effort)
