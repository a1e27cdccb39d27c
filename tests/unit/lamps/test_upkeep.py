"""Ageing and warm-up: stated by the scene, linear between its rows."""

import pytest

from tests.unit.lamps.lamp_specs import TUBE, lamp, refusal

LEFT = [[0, "100 %"], [100, "90 %"], [4000, 0.7]]
REACHED = [[0, "50 %"], [5, "90 %"], [20, "100 %"]]


def test_a_lamp_is_new_and_warm_unless_told() -> None:
    assert (1.0, ()) == (lamp(TUBE).strength, lamp(TUBE).strength_notes)


@pytest.mark.parametrize(
    ("hours", "stated_at", "factor"),
    [
        (0, 0, 1.0),
        (50, 0, 0.95),
        (100, 0, 0.9),
        # Halfway from 0.9 at 100 h to 0.7 at 4000 h.
        (2050, 0, 0.8),
        (2050, 100, 0.8 / 0.9),
        # Stated for an older lamp than this one: it gives more.
        (0, 100, 1 / 0.9),
    ],
)
def test_age(hours: float, stated_at: float, factor: float) -> None:
    aged = lamp(TUBE, age={"hours": hours, "left": LEFT, "stated_at": stated_at})
    assert aged.strength == pytest.approx(factor)


@pytest.mark.parametrize(("minutes", "factor"), [(0, 0.5), (2.5, 0.7), (20, 1.0), (300, 1.0)])
def test_warm_up(minutes: float, factor: float) -> None:
    assert lamp(TUBE, warm_up={"minutes": minutes, "reached": REACHED}).strength == pytest.approx(factor)


def test_all_factors_multiply_and_are_told() -> None:
    worn = lamp(TUBE, level="50 %", maintained="80 %", warm_up={"minutes": 5, "reached": REACHED})
    assert worn.strength == pytest.approx(0.5 * 0.8 * 0.9)
    told = " ".join(worn.strength_notes)
    assert [] == [words for words in ("80 %", "90 %", "5 min", "50 %", "from lamp to lamp") if words not in told]


def test_age_is_told() -> None:
    (note,) = lamp(TUBE, age={"hours": 2050, "left": LEFT, "stated_at": 100}).strength_notes
    assert note.startswith("at 2050 h it is taken to give 88.9 % of its output after 100 h, by the scene's own table")


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"age": {"hours": 5000, "left": LEFT}}, "'hours' is 5000, but the rows of 'left' go from 0 to 4000 hours"),
        ({"age": {"hours": 10, "left": LEFT[:1]}}, "'left' needs at least two rows of hours and share"),
        ({"age": {"hours": 10, "left": [[5, 1], [5, 0.5]]}}, "the hours in 'left' must increase; 5 is followed by 5"),
        ({"age": {"hours": 0, "left": [[0, 1], [9, 0]], "stated_at": 9}}, "nothing is left at 'stated_at'"),
        ({"age": {"hours": 0, "left": LEFT}, "maintained": "80 %"}, "'maintained' and 'age' say the same thing twice"),
        ({"warm_up": {"minutes": 1, "reached": REACHED[1:]}}, "'minutes' is 1, but the rows of 'reached' start at 5"),
        ({"maintained": "120 %"}, "share 1.2 is outside 0 to 1"),
    ],
)
def test_refusals(changes: dict[str, object], message: str) -> None:
    assert refusal(TUBE, **changes).startswith(message)
