"""What may stand after ``--error``, and what is said where something else does."""

import click
import pytest

from sim.commands.run import Percent


@pytest.mark.parametrize(("word", "share"), [("1", 0.01), ("2.5 %", 0.025), ("100%", 1.0), ("1e-3", 1e-5)])
def test_a_percentage_is_a_share(word: str, share: float) -> None:
    assert share == pytest.approx(Percent().convert(word, None, None))


@pytest.mark.parametrize(("word", "told"), [("0", "0 %"), ("-1", "-1 %"), ("101 %", "101 %"), ("nan", "nan %")])
def test_zero_is_left_out_and_the_message_says_so(word: str, told: str) -> None:
    with pytest.raises(click.BadParameter) as refused:
        Percent().convert(word, None, None)
    assert f"no run ends at {told}; give more than 0 % and at most 100 %, such as 1" == refused.value.message
