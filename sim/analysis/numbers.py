"""Numbers as people read them: no more digits than the error allows."""

import math


def decimals(value: float, half_width: float) -> int:
    """Return how many decimals to print: two figures of the error, but at most four of the value or three decimals."""
    size = half_width if half_width > 0 and math.isfinite(half_width) else abs(value) * 0.01
    if size == 0 or not math.isfinite(size):
        return 2
    most = max(3, 3 - math.floor(math.log10(abs(value)))) if value and math.isfinite(value) else 3
    return max(0, min(most, 6, 1 - math.floor(math.log10(size))))


def with_error(value: float, half_width: float) -> str:
    """Return ``"2.31 ± 0.04"``: a value and the half width of its interval."""
    places = decimals(value, half_width)
    # An error that is there is never told as none.
    half_width = max(half_width, 10.0**-places) if half_width > 0 else half_width
    # Rounding first and adding zero keeps "-0.00" out of tables.
    return f"{round(value, places) + 0.0:.{places}f} ± {half_width:.{places}f}"


def plain(value: float) -> str:
    """Return a number with three figures, without an exponent, trailing zeros left out."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    places = max(0, min(6, 2 - math.floor(math.log10(abs(value)))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def percent(share: float) -> str:
    """Return a share as a percentage without decimals, except next to the ends, neither of which it is told to be."""
    value = round(100.0 * share, 6)  # sums of shares miss an end by rounding errors
    if 0.0 < value < 0.05:
        return "under 0.1 %"
    if 99.95 <= value < 100.0:
        return "over 99.9 %"
    near_an_end = 0.0 < value < 1.0 or 99.0 < value < 100.0
    return f"{value:.1f} %" if near_an_end else f"{value:.0f} %"


def percent_with_error(share: float, half_width: float) -> str:
    """Return ``"70 ± 15 %"``: a share and how far it may be off, or the share alone if it cannot."""
    if not half_width > 0.0:
        return percent(share)
    places = 0 if half_width >= 0.01 else 1
    # An error that is there is never told as none.
    return f"{100.0 * share:.{places}f} ± {max(100.0 * half_width, 10.0**-places):.{places}f} %"
