"""Shares: what may stand for one, and what is said of percent that lack their sign."""

import pytest

from sim.units import read_share


@pytest.mark.parametrize(("value", "share"), [("5 %", 0.05), (0.05, 0.05), (0, 0.0), (1, 1.0), ("100 %", 1.0)])
def test_a_share_is_a_percentage_or_a_fraction(value: object, share: float) -> None:
    assert share == pytest.approx(read_share(value))


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (30, "share 30 is outside 0 to 1 (that is 0 % to 100 %); write '30 %' if that is meant"),
        (2.5, "share 2.5 is outside 0 to 1 (that is 0 % to 100 %); write '2.5 %' if that is meant"),
        (1.2, "share 1.2 is outside 0 to 1 (that is 0 % to 100 %)"),
        (-5, "share -5 is outside 0 to 1 (that is 0 % to 100 %)"),
        ("3000 %", "share 30 is outside 0 to 1 (that is 0 % to 100 %)"),
    ],
)
def test_percent_without_their_sign_are_told_how_to_have_it(value: object, told: str) -> None:
    with pytest.raises(ValueError, match="outside") as refused:
        read_share(value)
    assert told == str(refused.value)
