"""Lines of a page end between words, never between a number and its unit."""

import io
import re

import pytest
from rich.console import Console
from rich.text import Text

from sim.report.prose import NO_BREAK, Prose, unbroken


@pytest.mark.parametrize(
    "text",
    ["97.5 %", "310 nm", "5 cm", "1.25 m", "12.5 in", "3 W", "40 µW/cm²", "0.2 W/m²", "7 mW/nm", "300 h", "1 year"],
)
def test_a_number_keeps_its_unit(text: str) -> None:
    assert f"with {text.replace(' ', NO_BREAK)}, says" == unbroken(f"with {text}, says")


def test_an_error_keeps_its_number() -> None:
    assert f"3.1{NO_BREAK}±{NO_BREAK}0.2 above 2 to 3{NO_BREAK}%" == unbroken("3.1 ± 0.2 above 2 to 3 %")


def test_a_place_keeps_its_letters() -> None:
    told = f"x{NO_BREAK}15.15, y{NO_BREAK}-0.40, z{NO_BREAK}1.50{NO_BREAK}in; axis x, y and z"
    assert told == unbroken("x 15.15, y -0.40, z 1.50 in; axis x, y and z")


@pytest.mark.parametrize("text", ["zone 2 has more", "2 mirrors", "5 hides", "1 to 4", "M 3 4 L 5 6"])
def test_other_words_part_from_numbers(text: str) -> None:
    assert text == unbroken(text)


@pytest.mark.parametrize("width", range(24, 60))
def test_no_line_in_the_terminal_ends_between_a_number_and_its_unit(width: int) -> None:
    told = "Highest UVI within reach: 2.06 ± 0.19, over ledge.top, x 84.5, y 22.6, z 30.0 cm; 34.8 cm from the tube"
    stream = io.StringIO()
    Console(file=stream, width=width).print(Prose(Text(told)))
    lines = stream.getvalue().splitlines()
    assert told == " ".join(lines)
    assert max(map(len, lines)) <= width
    assert not any(re.search(r"\d$|±$|\b[xyz]$", line) for line in lines)
    assert not any(line.startswith(("±", "cm")) for line in lines)
