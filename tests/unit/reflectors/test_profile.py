"""Cross-sections of reflectors."""

import numpy as np
import pytest

from sim.geometry.mesh import FloatArray
from sim.reflectors.curve import parabola
from sim.reflectors.profile import faceted, first_crossing, flat, right_half, trough, vee


def test_straight_profiles_by_their_dimensions() -> None:
    assert flat(0.08, 0.02).tolist() == [[-0.04, -0.02], [0.04, -0.02]]
    assert vee(0.08, 0.04, 0.02).tolist() == [[-0.04, 0.02], [0.0, -0.02], [0.04, 0.02]]
    assert trough(0.09, 0.03, 0.015, 0.04).tolist() == [
        [-0.045, 0.015],
        [-0.02, -0.015],
        [0.02, -0.015],
        [0.045, 0.015],
    ]


def inward(profile: FloatArray) -> FloatArray:
    """Unit normals on the left of a walk along a profile."""
    steps = np.diff(profile, axis=0)
    return np.stack([-steps[:, 1], steps[:, 0]], axis=1) / np.linalg.norm(steps, axis=1)[:, None]


@pytest.mark.parametrize(
    "profile",
    [flat(0.08, 0.02), vee(0.08, 0.05, 0.02), trough(0.09, 0.03, 0.015, 0.04), trough(0.05, 0.03, 0.01, 0.09)],
)
def test_inside_is_on_the_left(profile: FloatArray) -> None:
    middles = 0.5 * (profile[1:] + profile[:-1])
    assert np.einsum("pk,pk->p", inward(profile), -middles).min() > 0.0


@pytest.mark.parametrize(
    "points",
    [
        [(-0.05, 0.01), (-0.02, -0.02), (0.0, -0.012), (0.02, -0.02), (0.05, 0.01)],
        [(0.03, -0.05), (0.03, 0.05)],
        [(-0.03, 0.05), (-0.03, -0.05)],
        # Two pieces on one line do not meet.
        [(-0.04, -0.02), (-0.02, -0.02), (-0.01, -0.03), (0.01, -0.03), (0.02, -0.02), (0.04, -0.02)],
        # Nor where rounding puts them a hair off that line.
        [(-0.04, -0.012), (-0.02, -0.016), (-0.01, -0.03), (0.005, -0.03), (0.01, -0.022), (0.04, -0.028)],
    ],
)
def test_facets_turn_their_inside_to_the_lamp_whichever_way_they_are_written(
    points: list[tuple[float, float]],
) -> None:
    ahead, back = faceted(points), faceted(points[::-1])
    assert ahead.tolist() == back.tolist()
    nearest = np.argmin(np.linalg.norm(0.5 * (ahead[1:] + ahead[:-1]), axis=1))
    assert inward(ahead)[nearest] @ -ahead[nearest] > 0.0


@pytest.mark.parametrize(
    ("points", "message"),
    [
        ([(0, -1), (0, -1), (1, 0)], "points 1 and 2 of the profile are the same; leave one out"),
        ([(-1, -1), (1, -1), (1, 1), (0, -2)], "pieces 1 and 3 of the profile cross or touch each other"),
        ([(-1, -1), (1, -1), (0.5, -1)], "pieces 1 and 2 of the profile cross or touch each other"),
        ([(-1, -1), (3, -1), (3, -2), (2, -1)], "pieces 1 and 3 of the profile cross or touch each other"),
        (
            [(-3, -1), (3, -1), (3, -2), (-4, -2), (-4, -1), (0, -1)],
            "pieces 1 and 5 of the profile cross or touch each other",
        ),
        (
            [(-1, -1), (0, 2), (1, -1), (-1, -1)],
            "pieces 1 and 3 of the profile cross or touch each other",
        ),
        (
            [(0, -1), (0, -2)],
            "the profile turns neither side towards the lamp's axis, which is the origin of its points",
        ),
    ],
)
def test_refusals_of_facets(points: list[tuple[float, float]], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        faceted(points)


@pytest.mark.parametrize(
    ("corners", "crossing"),
    [
        ([(0, 0), (1, 0), (1, 1), (0, 1)], None),
        ([(0, 0), (0.5, -1), (1, 0), (0.8, 2), (0.6, -1.5), (0.4, 0.5)], (1, 3)),
        ([(0, 0), (2, -1), (2, 1), (1, -0.2), (3, 0.5)], (1, 3)),
        ([(0, 0), (1, -1), (2, 1), (3, -1), (4, 0)], (1, 4)),
        # The closing piece runs back over the first.
        ([(0, 0), (2, 0), (2, 1), (1, 0)], (0, 2)),
        ([(0, 0), (2, 0), (2, 1), (3, 0)], (1, 3)),
        ([(0, 0), (2, 0), (3, 0)], (1, 2)),
    ],
)
def test_crossing_of_a_closed_outline(corners: list[tuple[float, float]], crossing: tuple[int, int] | None) -> None:
    assert first_crossing(np.array(corners, dtype=np.float64), closed=True) == crossing


@pytest.mark.parametrize(
    ("profile", "expected"),
    [
        (flat(0.08, 0.02), [[0.0, -0.02], [0.04, -0.02]]),
        (trough(0.09, 0.03, 0.015, 0.04), [[0.0, -0.015], [0.02, -0.015], [0.045, 0.015]]),
        (vee(0.08, 0.04, 0.02), [[0.0, -0.02], [0.04, 0.02]]),
        (trough(0.04, 0.03, 0.015, 0.09), [[0.0, -0.015], [0.045, -0.015], [0.02, 0.015]]),
    ],
)
def test_right_half_starts_in_the_middle(profile: FloatArray, expected: list[list[float]]) -> None:
    assert right_half(profile).tolist() == expected


def test_right_half_of_a_parabola_starts_at_its_vertex() -> None:
    half = right_half(parabola(0.03, 0.12))
    assert half[0].tolist() == [0.0, -0.03]
    assert np.all(np.diff(half[:, 0]) > 0.0)
