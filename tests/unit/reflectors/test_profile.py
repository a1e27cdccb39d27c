"""Cross-sections of reflectors."""

import numpy as np
import pytest

from sim.geometry.mesh import FloatArray
from sim.reflectors.profile import (
    CHORD_ERROR,
    faceted,
    first_crossing,
    flat,
    parabola,
    right_half,
    trough,
)


def test_flat_and_trough_by_their_dimensions() -> None:
    assert flat(0.08, 0.02).tolist() == [[-0.04, -0.02], [0.04, -0.02]]
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
    [flat(0.08, 0.02), trough(0.09, 0.03, 0.015, 0.04), trough(0.05, 0.03, 0.01, 0.09), parabola(0.02, 0.2)],
)
def test_inside_is_on_the_left(profile: FloatArray) -> None:
    middles = 0.5 * (profile[1:] + profile[:-1])
    assert np.einsum("pk,pk->p", inward(profile), -middles).min() > 0.0


PARABOLAS = [(0.01, 0.3), (0.03, 0.12), (0.1, 0.05)]


@pytest.mark.parametrize(("focus", "width"), PARABOLAS)
def test_corners_of_a_parabola_lie_as_far_from_focus_as_from_directrix(focus: float, width: float) -> None:
    points = parabola(focus, width)
    assert np.linalg.norm(points, axis=1) == pytest.approx(points[:, 1] + 2.0 * focus, rel=1e-12)
    assert (points[0, 0], points[-1, 0]) == (-0.5 * width, 0.5 * width)
    assert points[len(points) // 2].tolist() == [0.0, -focus]


@pytest.mark.parametrize(("focus", "width"), PARABOLAS)
def test_facets_of_a_parabola_lie_close_to_it(focus: float, width: float) -> None:
    points = parabola(focus, width)
    share = np.linspace(0.0, 1.0, 11)[:, None, None]
    chord = (1.0 - share) * points[:-1] + share * points[1:]
    gap = chord[..., 1] - (chord[..., 0] ** 2 / (4.0 * focus) - focus)
    assert 0.0 <= gap.max() <= CHORD_ERROR * width * (1.0 + 1e-9)
    assert gap.min() >= -1e-15


@pytest.mark.parametrize(("focus", "width"), PARABOLAS)
def test_rays_along_the_facing_come_back_through_the_focus(focus: float, width: float) -> None:
    points = parabola(focus, width)
    start, step, normal = points[:-1], np.diff(points, axis=0), inward(points)
    length = np.linalg.norm(step, axis=1)
    arriving = np.array([0.0, -1.0])
    leaving = arriving - 2.0 * (normal @ arriving)[:, None] * normal
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        foot = start + share * step
        miss = np.abs(leaving[:, 0] * foot[:, 1] - leaving[:, 1] * foot[:, 0])
        # Half the facet's length at its ends, nothing in its middle but what the chord lies off the curve.
        allowed = abs(share - 0.5) * length + 2.0 * CHORD_ERROR * width
        assert np.all(miss <= allowed)


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
        (trough(0.04, 0.03, 0.015, 0.09), [[0.0, -0.015], [0.045, -0.015], [0.02, 0.015]]),
    ],
)
def test_right_half_starts_in_the_middle(profile: FloatArray, expected: list[list[float]]) -> None:
    assert right_half(profile).tolist() == expected


def test_right_half_of_a_parabola_starts_at_its_vertex() -> None:
    half = right_half(parabola(0.03, 0.12))
    assert half[0].tolist() == [0.0, -0.03]
    assert np.all(np.diff(half[:, 0]) > 0.0)
