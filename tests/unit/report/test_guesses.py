"""What nobody measured is said once."""

from sim.report.guesses import guessed_values


def of_lamps(*names: str) -> list[str]:
    return list(guessed_values({"lamps": [{"name": name} for name in names]}))


def test_lamps_whose_body_nobody_described_are_told_together() -> None:
    assert [] == list(guessed_values({"lamps": [{"name": "tube", "body": "black"}]}))
    assert ["the body of lamp 'tube' is taken to reflect 30 % of what falls on it, a guess"] == of_lamps("tube")
    assert [
        "the bodies of lamps 'a', 'b' and 'c' are taken to reflect 30 % of what falls on them, a guess"
    ] == of_lamps("a", "b", "c")
