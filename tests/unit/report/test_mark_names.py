"""Names of outlines on a map: within it, clear of each other and of what else is written."""

import numpy as np
import pytest

from sim.report.mark_names import CLEAR, LETTER, LINE, Box, name_boxes
from sim.report.panels import Mark

SCALE = 0.1
"""Inches a centimetre."""
ACROSS, UP = (0.0, 60.0), (0.0, 40.0)


def placed(*marks: Mark, taken: tuple[Box, ...] = ()) -> list[Box | None]:
    return name_boxes(marks, ACROSS, UP, SCALE, taken)


def within(box: Box) -> bool:
    return ACROSS[0] <= box.across[0] < box.across[1] <= ACROSS[1] and UP[0] <= box.up[0] < box.up[1] <= UP[1]


def test_a_name_stands_over_the_middle_of_its_outline() -> None:
    (box,) = placed(Mark("stone", (10.0, 30.0), (5.0, 20.0)))
    assert box is not None
    assert (20.0, 20.0 + 0.5 * LINE / SCALE) == pytest.approx(box.middle)
    assert 6 * LETTER / SCALE == pytest.approx(box.across[1] - box.across[0])


@pytest.mark.parametrize(
    ("across", "up"), [((55.0, 60.0), (5.0, 20.0)), ((0.0, 3.0), (30.0, 40.0)), ((0.0, 60.0), (0.0, 40.0))]
)
def test_a_name_at_the_edge_stays_on_the_map(across: tuple[float, float], up: tuple[float, float]) -> None:
    (box,) = placed(Mark("a long name", across, up))
    assert box is not None
    assert within(box)


def test_two_outlines_with_one_upper_side_have_names_apart() -> None:
    marks = [Mark(name, (10.0, 50.0), (5.0, 20.0)) for name in ("first", "second", "third", "fourth")]
    boxes = [box for box in placed(*marks) if box is not None]
    assert len(boxes) == 4
    assert not any(one.meets(other) for at, one in enumerate(boxes) for other in boxes[:at])
    assert all(map(within, boxes))


def test_a_name_keeps_clear_of_other_words() -> None:
    words = Box((12.0, 28.0), (19.0, 24.0))
    (box,) = placed(Mark("stone", (10.0, 30.0), (5.0, 20.0)), taken=(words,))
    assert box is not None
    assert not box.meets(words)


def test_a_name_wider_than_the_map_has_no_place() -> None:
    assert [None] == placed(Mark("n" * 100, (0.0, 60.0), (0.0, 40.0)))


def test_what_keeps_clear_of_the_places_of_a_box_keeps_clear_of_the_box() -> None:
    box = Box((3.0, 23.0), (7.0, 13.0))
    places = np.array(box.places(SCALE))
    rng = np.random.default_rng(5)
    points = np.stack([rng.uniform(*box.across, 200), rng.uniform(*box.up, 200)], axis=1)
    nearest = np.linalg.norm(points[:, None] - places, axis=2).min(axis=1)
    assert nearest.max() < CLEAR / SCALE
