"""Places and quantities in words and keys, the same in the terminal, the page and the tables."""

from math import isnan

import numpy as np

from sim.analysis.coverage import Peak
from sim.analysis.extremes import Place
from sim.analysis.numbers import decimals, percent, percent_with_error, plain, with_error
from sim.analysis.spectral_share import Share
from sim.analysis.zones import ZoneReport
from sim.report.lengths import CENTIMETRES, LengthUnit
from sim.tally.lamp_record import DOUBT, Agreement, FittedReading
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

MICROWATTS_PER_CM2 = 100.0
"""Of one W/m2: the unit of handheld UVB meters."""
PLANE = 0.05
"""Side of a square plane that photons are counted on which cross it [m], see `sim.compile.gathered`."""
MOST_NAMES = 4
"""Names that a sentence lists."""
READING_COLUMNS = ("Quantity", "At", "Reading", "Model", "Reading over model", "Error of the reading")


def position_words(position: tuple[float, float, float], unit: LengthUnit = CENTIMETRES) -> str:
    """Return a position as ``"x 48.8, y 30.8, z 18.0 cm"``."""
    x, y, z = map(unit.number, position)
    return f"x {x}, y {y}, z {z} {unit.symbol}"


def place_words(place: Place, kind: str = "", unit: LengthUnit = CENTIMETRES) -> str:
    """Return where a place is, with the surface or zone that it belongs to."""
    where = {"reach": f"over {place.group}", "zone": f"in zone {place.group}"}.get(kind, f"on {place.group}")
    return f"{where}, {position_words(place.position, unit)}"


def peak_words(peak: Peak, unit: LengthUnit = CENTIMETRES) -> str:
    """Return where a peak is and how far the nearest lamp is."""
    where = place_words(peak.place, peak.kind, unit)
    return f"{where}; {unit.words(peak.lamp_distance)} from the middle of {peak.lamp}" if peak.lamp else where


def between(low: Estimate, high: Estimate) -> str:
    """Return ``"1.20 ± 0.04 to 2.70 ± 0.09"``."""
    return f"{with_error(*value_of(low))} to {with_error(*value_of(high))}"


def known(value: Estimate) -> str:
    """Return a number with its error, or alone where it has none or older results do not tell it."""
    mean, half_width = value_of(value)
    return with_error(mean, half_width) if half_width > 0.0 else plain(mean)


def share_words(share: Share) -> str:
    """Return ``"1.52 ± 0.04 %"``, or a dash where there is no whole."""
    if isnan(share.value):
        return "–"
    if not share.half_width > 0.0:
        return percent(share.value)
    value, half_width = 100.0 * share.value, 100.0 * share.half_width
    # Nobody needs a thousandth of a per cent; and an error that is there is never told as none.
    places = min(2, decimals(value, half_width))
    return f"{value:.{places}f} ± {max(half_width, 10.0**-places):.{places}f} %"


def reading_words(
    reading: FittedReading, replicates: int, unit: LengthUnit = CENTIMETRES
) -> tuple[str, str, str, str, str, str]:
    """Return quantity, distance, reading, model, difference and the reading's standard error as text."""
    scale = 1.0 if reading.weighting == "uvi" else MICROWATTS_PER_CM2
    computed = np.array(scale * reading.computed)
    model = Estimate(computed, computed * reading.computed_error, replicates)
    name = "UV index" if reading.weighting == "uvi" else f"UVB to {reading.weighting[4:]} nm, µW/cm²"
    return (
        name,
        unit.short(reading.distance),
        plain(scale * reading.stated),
        known(model),
        f"{100.0 * reading.difference:+.1f} %",
        f"{100.0 * reading.error:.3g} %",
    )


def disagreement(agreement: Agreement) -> str:
    """Return a warning that readings do not fit one lamp in its set-up."""
    return (
        f"its readings disagree with the model by more than their errors admit (chi-square {agreement.chi_square:.3g} "
        f"with {agreement.freedom} degrees of freedom, chance {agreement.chance:.1g}, less than {DOUBT:g}): a reading, "
        "its distance, the setting, the reflector or the lamp's lit length is wrong"
    )


def missed_light(names: tuple[str, ...], unit: LengthUnit = CENTIMETRES) -> str:
    """Return a warning that some of a lamp's light may be missing at sensors and zones, and in their errors."""
    shown = [*names[:MOST_NAMES], *([f"{len(names) - MOST_NAMES} more"] if len(names) > MOST_NAMES else [])]
    where = " and ".join(filter(None, (", ".join(shown[:-1]), shown[-1])))
    return (
        f"what curved mirrors send of its light to {where} may be missing there, and the errors do not tell: paths "
        f"that are followed back from points hardly ever meet so small a lamp. Photons do meet a plane of "
        f"{unit.short(PLANE)} by {unit.short(PLANE)} or more: read one there"
    )


def covered_words(zone: ZoneReport) -> str:
    """Return the covered share of a zone with its error; nothing where no share is wanted or told."""
    return "" if zone.covered is None else percent_with_error(zone.covered.share, zone.covered.reach)


def value_of(estimate: Estimate) -> tuple[float, float]:
    """Return a single number and the half width of its 95 % interval."""
    return float(estimate.mean), float(estimate.half_width)
