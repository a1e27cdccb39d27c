"""Lines and surfaces of equal value, against fields whose shape is known. Meshes need no GL."""

import numpy as np
import pytest

from sim.analysis.selection import Selection
from sim.tally.result import FloatArray, Result
from tests.support.synthetic_result import Patch, box_patches, make_result
from viewer.field import contours, grids, stacks

HEIGHTS = (0.1, 0.2, 0.3, 0.4)


def layer(name: str, z: float, x: float = 0.2, shape: tuple[int, int] = (16, 8)) -> Patch:
    return Patch("sensor", name, (x, 0.1, z), (0.8, 0, 0), (0, 0.4, 0), shape, {"kind": "grid"})


def height(centre: FloatArray, normal: FloatArray) -> FloatArray:
    """A field that is ten times the height."""
    return 10.0 * centre[:, 2]


def across(centre: FloatArray, normal: FloatArray) -> FloatArray:
    return 1.0 + 2.0 * centre[:, 0]


def stacked() -> Result:
    layers = [layer(f"layer {k}", z) for k, z in enumerate(HEIGHTS)]
    return make_result([*box_patches(), *layers], height, noise=0.0, replicates=4)


def test_a_surface_of_equal_value_lies_where_the_field_has_it() -> None:
    (found,) = contours(Selection(stacked()), [1.5, 3.5, 9.0])
    assert found.surface
    levels = np.asarray(found.mesh.point_data["level"])
    np.testing.assert_allclose(found.mesh.points[:, 2], levels / 10.0, atol=1e-5)
    assert {1.5, 3.5} == set(np.round(levels, 6))
    # From the middle of the first cell to that of the last, along both edges.
    assert 2 * (0.8 - 0.05) * (0.4 - 0.05) == pytest.approx(found.mesh.area, rel=1e-4)
    assert ["1.5", "3.5"] == [label.text for label in found.callouts]


def test_lines_of_equal_value_on_a_single_grid() -> None:
    result = make_result([*box_patches(), layer("plate", 0.2)], across, noise=0.0, replicates=4)
    (found,) = contours(Selection(result, levels=(1.0,)), [2.0])
    assert not found.surface
    np.testing.assert_allclose(found.mesh.points[:, 0], 0.5, atol=1e-5)
    assert 0.4 - 0.05 == pytest.approx(float(np.ptp(found.mesh.points[:, 1])), rel=1e-5)


def test_stacks_are_made_of_grids_alike_that_stand_over_each_other() -> None:
    patches = [
        layer("top", 0.3),
        layer("low", 0.1),
        layer("middle", 0.2),
        layer("aside", 0.2, x=0.3),
        layer("finer", 0.25, shape=(8, 8)),
        layer("column", 0.35, shape=(16, 1)),
    ]
    result = make_result(patches, height, noise=0.0, replicates=4)
    tall, alone = stacks(grids(Selection(result)))
    assert [["low", "middle", "top"]] == [[one.name for one in pile] for pile in tall]
    assert ["aside", "finer"] == [one.name for one in alone]


def test_without_grids_there_is_no_field() -> None:
    result = make_result(box_patches(), height, noise=0.0, replicates=4)
    assert [] == contours(Selection(result), [1.0])
