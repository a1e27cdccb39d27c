import numpy as np
import pytest

from viewer.cameras import VIEWS, View, camera_for

BOX = np.array([(x, y, z) for x in (0.0, 1.2) for y in (0.0, 0.6) for z in (0.0, 0.7)])


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("aspect", [0.6, 1.2, 2.0])
def test_all_is_seen_and_nothing_is_wasted(view: View, aspect: float) -> None:
    left, right, below, above = margins = (0.1, 0.05, 0.15, 0.2)
    seen = camera_for(BOX, view, aspect, margins).project(BOX, aspect)
    free = np.array([seen[:, 0].min() - left, 1 - right - seen[:, 0].max()])
    free_up = np.array([seen[:, 1].min() - below, 1 - above - seen[:, 1].max()])
    assert min(free.min(), free_up.min()) > -1e-9
    # The nearest camera touches both edges in one direction, and stands in the middle in the other.
    assert min(free.max(), free_up.max()) < 1e-9


@pytest.mark.parametrize("view", VIEWS)
def test_axes_of_a_camera_are_perpendicular_units(view: View) -> None:
    camera = camera_for(BOX, view, 1.0)
    axes = np.array([camera.right, camera.up, camera.forward])
    np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-12)


def test_right_is_to_the_right_and_up_is_up() -> None:
    for view in VIEWS:
        camera = camera_for(BOX, view, 1.0)
        assert camera.right[0] > 0.5
        assert camera.up[1 if view == "top" else 2] > 0.5


def test_one_point_is_looked_at_from_some_way_off() -> None:
    point = np.array([[0.2, 0.3, 0.4]])
    camera = camera_for(point, "corner", 1.5)
    np.testing.assert_allclose(camera.project(point, 1.5), [[0.5, 0.5]], atol=1e-12)
    assert np.linalg.norm(camera.eye - point[0]) == pytest.approx(0.05)
