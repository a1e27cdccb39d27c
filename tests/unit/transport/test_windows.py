"""Windows against closed forms: what is seen of a rectangle through another, and how large it is seen."""

import math

import numpy as np
import pytest

from sim.transport.arrays import F64
from sim.transport.windows import ROOM, beam_holds, cut, cut_window, extent

pytestmark = pytest.mark.tiny


def outline(*corners: tuple[float, float, float]) -> F64:
    rows = np.zeros((ROOM, 3))
    rows[: len(corners)] = corners
    return rows


def square(half: float, height: float, x: float = 0.0) -> F64:
    return outline(
        (x - half, -half, height), (x + half, -half, height), (x + half, half, height), (x - half, half, height)
    )


def corners_of(rows: F64, count: int) -> set[tuple[float, ...]]:
    return {tuple(np.round(row, 9)) for row in rows[:count].tolist()}


EYE = np.array([0.0, 0.0, 0.0])


@pytest.mark.parametrize("backwards", [False, True])
def test_a_window_shows_as_much_of_a_plane_twice_as_far_as_is_twice_as_large(backwards: bool) -> None:
    """Whichever way round its corners run."""
    window, far = square(1.0, 1.0), square(5.0, 2.0)
    if backwards:
        window[:4] = window[3::-1].copy()
    count = cut_window(EYE, window, 4, far, 4, np.zeros((ROOM, 3)))
    assert corners_of(square(2.0, 2.0), 4) == corners_of(far, count)


def test_a_window_shows_the_part_of_a_plane_that_lies_behind_it() -> None:
    far = square(1.0, 2.0, x=2.5)
    count = cut_window(EYE, square(1.0, 1.0), 4, far, 4, np.zeros((ROOM, 3)))
    assert {(1.5, -1.0, 2.0), (2.0, -1.0, 2.0), (2.0, 1.0, 2.0), (1.5, 1.0, 2.0)} == corners_of(far, count)


def test_a_window_shows_nothing_of_what_lies_beside_it() -> None:
    assert cut_window(EYE, square(1.0, 1.0), 4, square(1.0, 2.0, x=4.0), 4, np.zeros((ROOM, 3))) == 0


def test_a_plane_through_two_corners_cuts_a_square_to_a_triangle() -> None:
    kept = np.zeros((ROOM, 3))
    count = cut(square(1.0, 0.0), 4, math.sqrt(0.5), math.sqrt(0.5), 0.0, 0.0, kept)
    assert {(1.0, -1.0, 0.0), (1.0, 1.0, 0.0), (-1.0, 1.0, 0.0)} == corners_of(kept, count)


def test_of_more_corners_than_there_is_room_for_nothing_is_left() -> None:
    angle = np.linspace(0.0, 2.0 * math.pi, ROOM, endpoint=False)
    many = np.stack([np.cos(angle), np.sin(angle), np.zeros(ROOM)], axis=1)
    kept = np.zeros((ROOM, 3))
    # One corner is cut off, and two come in its place.
    assert cut(many, ROOM, -1.0, 0.0, 0.0, -0.99, kept) == 0
    assert cut(many, ROOM, -1.0, 0.0, 0.0, -2.0, kept) == ROOM


def test_small_windows_subtend_their_area_over_the_square_of_their_distance() -> None:
    assert 4e-6 / 9.0 == pytest.approx(extent(EYE, square(1e-3, 3.0), 4), rel=1e-5)


@pytest.mark.parametrize(("x", "radius", "holds"), [(0.0, 1e-3, True), (1.9, 1e-3, True), (2.2, 0.1, False)])
def test_a_ball_may_lie_in_the_pyramid_behind_a_window(x: float, radius: float, holds: bool) -> None:
    assert holds == beam_holds(EYE, square(1.0, 1.0), 4, x, 0.0, 2.0, radius)


def test_a_ball_that_reaches_into_the_pyramid_is_not_given_up() -> None:
    # Its centre is 0.2 / sqrt(2) away from the pyramid's side.
    assert not beam_holds(EYE, square(1.0, 1.0), 4, 2.2, 0.0, 2.0, 0.141)
    assert beam_holds(EYE, square(1.0, 1.0), 4, 2.2, 0.0, 2.0, 0.142)
