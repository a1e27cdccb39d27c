"""Manual pages are as wide as the terminal, and lose no word in it."""

import inspect

import pytest

from sim.commands.describe import _kinds
from sim.commands.wrapped import filled, manual

PAGE = """\
A straight round tube that glows evenly along its side; its two ends are dark.

======  ==============================================  ============
key     meaning                                         default
======  ==============================================  ============
from    one end of the lit part, on the axis            three lengths
dark    how far the tube goes on, dark, at either end,  length, 0
        beyond the lit part
======  ==============================================  ============

Example::

    spectrum = { bands = [{ peak = "310 nm", fwhm = "40 nm" }] }

Notes
-----
Readings are taken from the axis,
opposite the middle."""


def test_paragraphs_and_tables_fit_and_examples_stay() -> None:
    assert manual(PAGE, 50).splitlines() == [
        "A straight round tube that glows evenly along its",
        "side; its two ends are dark.",
        "",
        "====  ==============================  ============",
        "key   meaning                         default",
        "====  ==============================  ============",
        "from  one end of the lit part, on     three",
        "      the axis                        lengths",
        "dark  how far the tube goes on,       length, 0",
        "      dark, at either end, beyond",
        "      the lit part",
        "====  ==============================  ============",
        "",
        "Example::",
        "",
        '    spectrum = { bands = [{ peak = "310 nm", fwhm = "40 nm" }] }',
        "",
        "Notes",
        "-----",
        "Readings are taken from the axis, opposite the",
        "middle.",
    ]


@pytest.mark.parametrize("name", sorted(_kinds()))
@pytest.mark.parametrize("width", [60, 80, 120])
def test_every_kind_fits_and_keeps_its_words(name: str, width: int) -> None:
    text = inspect.cleandoc(_kinds()[name].__doc__ or "")
    fitted = manual(text, width)
    prose = [line for line in fitted.splitlines() if not line.startswith(" ")]
    assert max(len(line) for line in prose) <= width
    assert sorted(word for word in text.split() if "=" not in word) == sorted(
        word for word in fitted.split() if "=" not in word
    )


def test_a_label_hangs_in_front_of_what_it_tells() -> None:
    assert "source:  one two\n         three four" == filled("source:  one two three four", 20, 9)
