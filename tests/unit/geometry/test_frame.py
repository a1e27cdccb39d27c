import numpy as np

from sim.geometry.frame import Frame, cells_of_size

X, Y, Z = np.eye(3)


def frame(*, flipped: bool = False, holes: tuple[tuple[float, float, float, float], ...] = ()) -> Frame:
    return Frame(np.array([1.0, 2.0, 3.0]), 0.6 * X, 0.4 * Y, (3, 2), holes, flipped)


def test_flipping_turns_the_normal_and_nothing_else() -> None:
    np.testing.assert_allclose(frame().normal, Z)
    np.testing.assert_allclose(frame(flipped=True).normal, -Z)
    np.testing.assert_array_equal(frame(flipped=True).cell_centres, frame().cell_centres)
    np.testing.assert_array_equal(frame(flipped=True).tangent, X)


def test_point_runs_along_the_edges_in_metres() -> None:
    np.testing.assert_allclose(frame().point(0.15, 0.3), [1.15, 2.3, 3.0], rtol=1e-15)


def test_cell_areas_less_a_hole_across_four_cells() -> None:
    hole = (0.1, 0.1, 0.3, 0.35)  # cells are 0.2 x 0.2
    expected = [0.04 - 0.01, 0.04 - 0.01, 0.04, 0.04 - 0.015, 0.04 - 0.015, 0.04]
    np.testing.assert_allclose(frame(holes=(hole,)).cell_areas, expected, rtol=1e-12)


def test_cells_of_size_rounds_and_keeps_one() -> None:
    assert [cells_of_size(0.6, size) for size in (0.05, 0.07, 0.25, 5.0)] == [12, 9, 2, 1]
