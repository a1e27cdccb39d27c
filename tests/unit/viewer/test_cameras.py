from pathlib import Path

import numpy as np
import pytest

from sim.commands import choosing
from viewer.cameras import VIEWS, CameraFileError, View, camera_for, orbit, read_camera, write_camera

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
    # Which way along which axis is to the right, as one stands there; up is up, and the back from above and below.
    rightwards = {"corner": (0, 1), "front": (0, 1), "back": (0, -1), "left": (1, -1), "right": (1, 1), "top": (0, 1)}
    for view in VIEWS:
        camera = camera_for(BOX, view, 1.0)
        axis, sign = rightwards.get(view, (0, -1))
        assert sign * camera.right[axis] > 0.5
        assert camera.up[1 if view in ("top", "below") else 2] > 0.5


def test_commands_offer_the_views_that_are_there() -> None:
    assert VIEWS == choosing.VIEWS


def test_a_camera_comes_back_from_its_file(tmp_path: Path) -> None:
    camera = camera_for(BOX, "corner", 1.4)
    write_camera(tmp_path / "seen.json", camera)
    again = read_camera(tmp_path / "seen.json")
    for part in ("eye", "right", "up", "forward", "distance"):
        np.testing.assert_allclose(getattr(again, part), getattr(camera, part), atol=1e-12)
    with pytest.raises(FileExistsError):
        write_camera(tmp_path / "seen.json", camera)


@pytest.mark.parametrize(
    "text",
    ["", "[]", '{"eye_m": [0, 0, 0]}', '{"eye_m": [0, 0, 1], "focus_m": [0, 0, 0], "up": [0, 0, 1]}'],
    ids=["empty", "list", "part", "up along the sight"],
)
def test_files_that_hold_no_camera(tmp_path: Path, text: str) -> None:
    path = tmp_path / "seen.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CameraFileError, match="holds no camera; one looks like"):
        read_camera(path)


def test_a_turn_sees_all_from_everywhere_and_comes_round() -> None:
    cameras = orbit(BOX, "corner", 1.5, (0.1, 0.1, 0.1, 0.1), 8)
    for camera in cameras:
        seen = camera.project(BOX, 1.5)
        assert seen.min() > 0.1 - 1e-6
        assert seen.max() < 0.9 + 1e-6
        assert cameras[0].eye[2] == pytest.approx(camera.eye[2])
    pivot = 0.5 * (BOX.min(axis=0) + BOX.max(axis=0))
    steps = [np.arctan2(*(camera.eye - pivot)[1::-1]) for camera in cameras]
    np.testing.assert_allclose(np.diff(np.unwrap(steps)), 2.0 * np.pi / 8)


def test_one_point_is_looked_at_from_some_way_off() -> None:
    point = np.array([[0.2, 0.3, 0.4]])
    camera = camera_for(point, "corner", 1.5)
    np.testing.assert_allclose(camera.project(point, 1.5), [[0.5, 0.5]], atol=1e-12)
    assert np.linalg.norm(camera.eye - point[0]) == pytest.approx(0.05)
