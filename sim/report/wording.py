"""Places and quantities in words and keys, the same in the terminal, the page and the tables."""

from sim.analysis.coverage import Peak
from sim.analysis.extremes import Place
from sim.tally.statistics import Estimate

QUANTITIES: dict[str, tuple[str, str]] = {
    "uvb-315": ("uvb_315", "UVB, 280 to 315 nm"),
    "uvb-320": ("uvb_320", "UVB, 280 to 320 nm"),
    "uva": ("uva", "UVA, 315 to 400 nm"),
    "erythema": ("erythema", "Erythemal, 250 to 400 nm"),
    "previtamin-d3": ("d3", "Previtamin D3, 252 to 330 nm"),
    "actinic": ("actinic", "Actinic hazard, 250 to 400 nm"),
}
"""Weightings told next to the UV index: key in files (all in W/m2) and words on the page."""


def centimetres(position: tuple[float, float, float]) -> str:
    """Return a position as ``"x 48.8, y 30.8, z 18.0 cm"``."""
    x, y, z = (100.0 * part for part in position)
    return f"x {x:.1f}, y {y:.1f}, z {z:.1f} cm"


def place_words(place: Place, kind: str = "") -> str:
    """Return where a place is, with the surface or zone that it belongs to."""
    where = {"reach": f"over {place.group}", "zone": f"in zone {place.group}"}.get(kind, f"on {place.group}")
    return f"{where}, {centimetres(place.position)}"


def peak_words(peak: Peak) -> str:
    """Return where a peak is and how far the nearest lamp is."""
    where = place_words(peak.place, peak.kind)
    return f"{where}; {100 * peak.lamp_distance:.1f} cm from the middle of {peak.lamp}" if peak.lamp else where


def value_of(estimate: Estimate) -> tuple[float, float]:
    """Return a single number and the half width of its 95 % interval."""
    return float(estimate.mean), float(estimate.half_width)
