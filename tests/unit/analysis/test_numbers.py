"""Numbers as people read them."""

import pytest

from sim.analysis.numbers import percent, percent_with_error, plain, with_error


@pytest.mark.parametrize(
    ("value", "half_width", "text"),
    [
        (2.3061, 0.0412, "2.306 ± 0.041"),
        (2.3061, 0.41, "2.31 ± 0.41"),
        (123.4, 12.0, "123 ± 12"),
        (1234.0, 250.0, "1234 ± 250"),
        (2.3061, 0.00004, "2.306 ± 0.001"),
        (0.09482, 0.00016, "0.09482 ± 0.00016"),
        (0.0, 0.0, "0.00 ± 0.00"),
        (1.0, 0.0, "1.000 ± 0.000"),
    ],
)
def test_digits_follow_the_error(value: float, half_width: float, text: str) -> None:
    assert with_error(value, half_width) == text


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0"), (7.4, "7.4"), (1.0, "1"), (0.05, "0.05"), (123.4, "123"), (12340.0, "12340")]
)
def test_plain(value: float, text: str) -> None:
    assert plain(value) == text


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "0 %"),
        (0.0002, "under 0.1 %"),
        (0.004, "0.4 %"),
        (0.5, "50 %"),
        (0.996, "99.6 %"),
        (0.9998, "over 99.9 %"),
        (1.0 - 1e-12, "100 %"),
        (1.0, "100 %"),
    ],
)
def test_percent_never_rounds_to_an_end(share: float, text: str) -> None:
    assert percent(share) == text


@pytest.mark.parametrize(
    ("share", "half_width", "text"),
    [
        (0.7, 0.15, "70 ± 15 %"),
        (1.0, 0.083, "100 ± 8 %"),
        (0.996, 0.004, "99.6 ± 0.4 %"),
        (0.5, 0.0001, "50.0 ± 0.1 %"),
        (0.5, 0.0, "50 %"),
    ],
)
def test_percent_with_error(share: float, half_width: float, text: str) -> None:
    assert percent_with_error(share, half_width) == text
