"""Where labels go: whole, apart, and off the places that they tell of."""

import itertools

import numpy as np
import pytest

from viewer.callouts import Box, laid_out, text_size, with_room

FRAME = Box(20.0, 60.0, 900.0, 740.0)
LETTERS = 14.0


def overlap(boxes: list[Box]) -> float:
    return sum(a.overlap(b) for a, b in itertools.combinations(boxes, 2))


@pytest.mark.parametrize("seed", range(6))
def test_many_labels_neither_meet_nor_leave_the_picture(seed: int) -> None:
    rng = np.random.Generator(np.random.Philox(seed))
    anchors = np.column_stack([rng.uniform(40, 880, 9), rng.uniform(80, 720, 9)])
    boxes = laid_out(anchors, [text_size("+ a place: inside the target\nmean UVI 1.2", LETTERS)] * 9, FRAME, LETTERS)
    assert 0.0 == overlap(boxes)
    assert [0.0] * 9 == [box.outside(FRAME) for box in boxes]


def test_places_that_lie_on_each_other_get_labels_that_do_not() -> None:
    anchors = np.full((5, 2), 400.0)
    boxes = laid_out(anchors, [text_size("one place of many", LETTERS)] * 5, FRAME, LETTERS)
    assert 0.0 == overlap(boxes)
    assert [0.0] * 5 == [box.overlap(Box(399, 399, 401, 401)) for box in boxes]


def test_what_is_written_already_stays_free() -> None:
    taken = Box(300.0, 410.0, 500.0, 500.0)
    (box,) = laid_out(np.array([[400.0, 400.0]]), [text_size("a label", LETTERS)], FRAME, LETTERS, [taken])
    assert 0.0 == box.overlap(taken)


def test_a_lone_label_stands_over_its_place() -> None:
    (box,) = laid_out(np.array([[400.0, 400.0]]), [text_size("a label", LETTERS)], FRAME, LETTERS)
    assert box.middle[0] == pytest.approx(400.0)
    assert box.low > 400.0


def test_lines_do_not_run_behind_the_labels_of_others() -> None:
    # Seen in a picture: the lower place had its label above that of the upper one, and its line ran behind it.
    anchors = np.array([[540.0, 410.0], [258.0, 370.0], [302.0, 280.0]])
    sizes = [text_size("+ middle of the sand: inside the target\nmean UVI 0.455", LETTERS)] * 3
    boxes = laid_out(anchors, sizes, FRAME, LETTERS)
    for number, (anchor, box) in enumerate(zip(anchors, boxes, strict=True)):
        line = anchor + np.linspace(0.0, 1.0, 200)[:, None] * (np.array(box.middle) - anchor)
        others = [other for k, other in enumerate(boxes) if k != number]
        assert 0.0 == sum(Box(x, y, x + 1e-3, y + 1e-3).overlap(other) for x, y in line for other in others)


@pytest.mark.parametrize("seed", range(3))
def test_labels_that_would_cover_others_find_no_room(seed: int) -> None:
    rng = np.random.Generator(np.random.Philox(seed))
    anchors = np.column_stack([rng.uniform(40, 880, 60), rng.uniform(80, 720, 60)])
    sizes = [text_size("hot spot: UVI 2.44 ± 0.16\n! over 1.4, the limit of a zone\n69 cm from the lamp", LETTERS)] * 60
    taken = [Box(20.0, 680.0, 600.0, 740.0)]
    found = with_room(anchors, sizes, FRAME, LETTERS, taken)
    assert 0 in found
    assert 8 < len(found) < 60
    assert 0.0 == overlap([*found.values(), *taken])
    assert 0.0 == sum(box.outside(FRAME) for box in found.values())
