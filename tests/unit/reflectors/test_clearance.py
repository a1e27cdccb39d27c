"""Whether a profile keeps clear of its lamp."""

import numpy as np
import pytest

from sim.reflectors.clearance import convex_outline, cuts_through

ANGLE = 2.0 * np.pi * np.arange(64) / 64
ROUND = 0.008 * np.stack([np.cos(ANGLE), np.sin(ANGLE)], axis=1)


@pytest.mark.parametrize(
    ("profile", "expected"),
    [
        ([(-0.04, -0.02), (0.04, -0.02)], False),
        ([(-0.04, -0.0081), (0.04, -0.0081)], False),
        ([(-0.04, -0.0079), (0.04, -0.0079)], True),
        ([(-0.001, 0.0), (0.001, 0.0)], True),  # wholly within the lamp
        ([(-0.04, 0.0), (-0.0082, 0.0)], False),
        ([(-0.04, 0.0), (-0.0078, 0.0)], True),
        ([(-0.0105, 0.002), (0.002, -0.0105)], True),  # cuts the corner with both ends outside
        ([(-0.02, 0.0), (0.0, -0.02)], False),
    ],
)
def test_profile_beside_a_round_lamp(profile: list[tuple[float, float]], expected: bool) -> None:
    assert cuts_through(np.array(profile), ROUND) is expected


@pytest.mark.parametrize(("height", "expected"), [(-1e-3, False), (0.0, True)])
def test_profile_behind_a_panel_of_no_thickness(height: float, expected: bool) -> None:
    panel = np.array([[-0.1, 0.0], [0.1, 0.0]])
    assert cuts_through(np.array([[-0.2, height], [0.2, height]]), panel) is expected


def test_space_between_limbs_counts_as_lamp() -> None:
    limbs = np.concatenate([ROUND - np.array([0.03, 0.0]), ROUND + np.array([0.03, 0.0])])
    assert cuts_through(np.array([[0.0, -0.05], [0.0, 0.05]]), limbs)


def test_outline_of_points_in_a_square() -> None:
    generator = np.random.default_rng(3)
    corners = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    points = np.concatenate([generator.random((50, 2)), corners, [[0.5, 0.0], [1.0, 0.25]]])
    assert convex_outline(points).tolist() == corners.tolist()
