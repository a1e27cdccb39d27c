"""Lengths in centimetres and inches; an inch is 25.4 mm exactly (international yard and pound agreement, 1959)."""

from fractions import Fraction

import pytest

from sim.analysis.coverage import answer
from sim.report.cautions import cautions
from sim.report.lengths import CENTIMETRES, INCHES, LengthUnit
from sim.report.page import report_page
from sim.report.prose import NO_BREAK
from tests.support.synthetic_result import terrarium


def test_an_inch_is_exact() -> None:
    for tenths in (1, 48, 305, 1200):
        exact = Fraction(tenths, 1000) / Fraction(254, 10000)
        assert float(exact) == pytest.approx(INCHES.of(tenths / 1000), rel=4e-16)
    assert 1.0 == pytest.approx(INCHES.of_area(0.0254**2), rel=1e-15)


@pytest.mark.parametrize(
    ("unit", "words", "short", "square"),
    [(CENTIMETRES, "48.8 cm", "48.8 cm", "cm²"), (INCHES, "19.21 in", "19.21 in", "in²")],
)
def test_words(unit: LengthUnit, words: str, short: str, square: str) -> None:
    assert (words, short, square) == (unit.words(0.488), unit.short(0.488), unit.square)


def test_a_length_that_somebody_chose_has_no_trailing_zeros() -> None:
    assert ("30 cm", "12 in") == (CENTIMETRES.short(0.3), INCHES.short(0.3048))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("solved from its reading at 30.48 cm (fixture)", "solved from its reading at 12 in (fixture)"),
        ("at 25.4 cm and 50.8 cm", "at 10 in and 20 in"),
        ("150 uW/cm2, 4 cm2, 3 cmx", "150 uW/cm2, 4 cm2, 3 cmx"),
    ],
)
def test_sentences_are_restated(text: str, expected: str) -> None:
    assert expected == INCHES.restated(text)
    assert text == CENTIMETRES.restated(text)


def test_no_length_of_a_page_in_inches_is_in_centimetres() -> None:
    told = answer(terrarium(strength=9.0))
    pages = (report_page(told, "2026-01-05", unit=unit) for unit in (CENTIMETRES, INCHES))
    metric, inch = (page.replace(NO_BREAK, " ") for page in pages)
    body = inch.partition("</style>")[2].replace("µW/cm²", "")
    assert (0, True) == (body.count(" cm"), metric.count(" cm") > 50)
    assert told.hot_spots, "the page must show areas of hot spots"
    assert "Area over it, in²" in inch
    # The same place in both: the brightest one.
    x, y, z = told.peak.place.position if told.peak else (0.0, 0.0, 0.0)
    assert f"x {100 * x:.1f}, y {100 * y:.1f}, z {100 * z:.1f} cm" in metric
    assert f"x {x / 0.0254:.2f}, y {y / 0.0254:.2f}, z {z / 0.0254:.2f} in" in inch


def test_cautions_follow() -> None:
    told = answer(terrarium(strength=9.0))
    assert any(" in;" in line or " in " in line for line in cautions(told, INCHES))
    assert not any(" cm" in line for line in cautions(told, INCHES))


def test_a_small_area_is_not_told_as_none() -> None:
    assert ("4050", "0.0079", "0") == tuple(CENTIMETRES.area(area) for area in (0.405, 7.9e-7, 0.0))
    assert "16.0" == INCHES.area(16 * 0.0254**2)
