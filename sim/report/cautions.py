"""Cautions, written once: what may hurt eyes, skin and animals, and what a computed number cannot promise."""

import math
from collections.abc import Iterator

from sim.analysis.coverage import SceneAnswer
from sim.analysis.numbers import percent, plain, with_error
from sim.analysis.power_range import power_bounds
from sim.analysis.verdict import INSIDE
from sim.analysis.zones import ZoneReport
from sim.report.highest import value_words
from sim.report.lengths import CENTIMETRES, LengthUnit
from sim.report.wording import between, disagreement, missed_light, peak_words, share_words, value_of
from sim.tally.statistics import estimate

SED = 100.0
"""One standard erythema dose [J m-2 of erythemal exposure], CIE S 007/E:1998."""
ACTINIC_LIMIT = 30.0
"""Actinic exposure of eyes and skin in 8 hours [J m-2], ICNIRP, Health Phys. 87 (2004) 171-186."""
ERYTHEMAL_PER_UVI = 0.025
"""Erythemal irradiance at UV index one [W m-2], WHO/SDE/OEH/02.2 (2002)."""

NOTABLE_SHARE_BELOW_298 = 0.2
NEAR_LAMP = 0.15
LOSSY = 0.01
_TIMES = (("s", 1.0, 90.0), ("min", 60.0, 7200.0), ("h", 3600.0, math.inf))
"""Units of time, how many seconds they have, and up to where they are told in [s]."""

STANDING: tuple[tuple[str, str], ...] = (
    (
        "Eyes and skin",
        "Never look into a lit UV lamp, and keep your skin out of its beam: UVB burns the cornea and the skin before "
        "you feel it, and lamps that send light below 298 nm do so faster than any sun. Switch lamps off, or wear "
        "UV-blocking face protection, long sleeves and gloves, before you reach into the enclosure.",
    ),
    (
        "Animals",
        "An animal must always be able to get away from the light: give it shade from side to side and a refuge that "
        "no lamp sees. The targets are what animals were seen to receive outdoors, not doses that are known to be "
        "safe. Start lower for young, pale, albino, sick or newly kept animals. Closed or swollen eyes, peeling or "
        "reddened skin, or an animal that shuns its basking place: switch the lamp off and ask a veterinarian.",
    ),
    (
        "Measure before use",
        "This is a computation. Lamps of one kind differ, age, and change with their fixture, voltage and "
        "temperature; reflectances of furniture are partly guesses. Before an animal moves in, and again every few "
        "months, measure at the height of its back with a UV index meter meant for lamps. Where the reading and this "
        "report differ, trust the reading.",
    ),
    (
        "Heat and electricity",
        "Nothing here says how hot a place gets. Check surface temperatures, burn and fire risk and the lamp maker's "
        "least distances yourself; guard lamps so that no animal can touch them, and keep water from electric parts.",
    ),
    (
        "Law and professional advice",
        "Codes on electrical installation, on lamps and on keeping animals differ from place to place and hold before "
        "anything here. Installing mains wiring, diagnosing and treating animals, and certifying a workplace for "
        "optical radiation are licensed practice; this report replaces none of them.",
    ),
)
"""What holds for every enclosure: heading and text."""

SHORT = (
    "Computed, not measured. Measure with a UV index meter before an animal moves in, and keep your own eyes and skin "
    "out of the beam."
)
"""The least that stands wherever a result is read."""


def cautions(told: SceneAnswer, unit: LengthUnit = CENTIMETRES) -> tuple[str, ...]:
    """Return what to beware of in this very scene, most pressing first.

    Parameters
    ----------
    told : SceneAnswer
    unit : LengthUnit
        That lengths are told in.
    """
    return (
        *_hot_spots(told, unit),
        *_lamps(told, unit),
        *_spectrum(told),
        *_near_lamps(told, unit),
        *_people(told),
        *_zones(told),
        *_run(told),
        SHORT,
    )


def _hot_spots(told: SceneAnswer, unit: LengthUnit) -> Iterator[str]:
    for spot in told.hot_spots:
        where, limit = peak_words(spot.peak, unit), f"{plain(spot.limit)}, the most that zone {spot.limit_from} allows"
        if spot.sure:
            yield (
                f"UVI {value_words(spot.peak.place)} within reach, {where}: that is over {limit}. Keep the animal away "
                "from there, or raise or dim the lamp."
            )
        else:
            yield f"Noise leaves open whether the UVI {where}, is over {limit}: trace more photons."


def _lamps(told: SceneAnswer, unit: LengthUnit) -> Iterator[str]:
    for lamp in told.result.lamps:
        if lamp.agreement is not None and lamp.agreement.doubtful:
            yield f"Lamp {lamp.name}: {disagreement(lamp.agreement)}."
        if lamp.has_range:
            low, high = (percent(factor) for factor in lamp.power_range)
            yield (
                f"The power of lamp {lamp.name} is known only between {low} and {high} of what was taken, by "
                f"{lamp.range_from}; the errors shown do not hold that."
            )
        if lamp.missed_at:
            yield f"Lamp {lamp.name}: {missed_light(lamp.missed_at, unit)}."
    for zone in told.zones:
        if zone.uvi_between is not None and _leaves_target(zone):
            yield (
                f"Over what is known of the lamps' power the mean UVI in zone {zone.name} is "
                f"{between(*zone.uvi_between)}, not all of it inside its target: the verdict "
                "holds for the power taken alone."
            )

    peak, limit = told.peak, told.limit
    bounds = power_bounds(told.maps)
    if peak is not None and limit is not None and bounds is not None and not told.hot_spots:
        strong = estimate(bounds[1].uvi[:, peak.place.row])
        if strong.mean > limit[0]:
            yield (
                f"With the lamps as strong as is known to be possible the UVI {peak_words(peak, unit)}, would be "
                f"{with_error(*value_of(strong))}, over {plain(limit[0])}, the most that zone {limit[1]} allows."
            )


def _leaves_target(zone: ZoneReport) -> bool:
    low, high = (0.0, 0.0) if zone.uvi_between is None else (float(end.mean) for end in zone.uvi_between)
    return zone.verdict.outcome == INSIDE and (low < zone.target.low or high > min(zone.target.high, zone.target.max))


def _spectrum(told: SceneAnswer) -> Iterator[str]:
    for zone in told.zones:
        if zone.below_298.value > NOTABLE_SHARE_BELOW_298:
            yield (
                f"{share_words(zone.below_298)} of the UV index in zone {zone.name} comes from below 298 nm, which the "
                "sun hardly sends to the ground: the targets are drawn from sunlight and do not carry over, and such "
                "light hurts eyes."
            )


def _near_lamps(told: SceneAnswer, unit: LengthUnit) -> Iterator[str]:
    peak = told.peak
    if peak is not None and peak.lamp_distance < NEAR_LAMP:
        yield (
            f"The brightest place within reach is {unit.words(peak.lamp_distance)} from the middle of {peak.lamp}. "
            "This close a body stands in steep gradients and heat: an animal that lifts its head gets more than told."
        )


def _people(told: SceneAnswer) -> Iterator[str]:
    if told.peak is None or told.peak.place.value <= 0:
        return
    place = told.peak.place
    dose = _minutes(SED / (place.value * ERYTHEMAL_PER_UVI), place.half_width / place.value)
    text = f"A person's skin at the brightest place gets a standard erythema dose in {dose}"
    actinic, half_width = value_of(estimate(told.maps.of("actinic")[:, place.row]))
    if actinic > 0:
        limit = _minutes(ACTINIC_LIMIT / actinic, half_width / actinic)
        text += f", and eyes and skin reach the guideline limit for a working day in {limit}"
    yield f"{text}. Do not work in the enclosure with the lamps lit."


def _zones(told: SceneAnswer) -> Iterator[str]:
    if told.zones and not any(zone.role == "refuge" for zone in told.zones):
        yield "The scene has no refuge: nothing here shows that an animal can get away from the light."
    for gradient in told.gradients:
        if gradient.really_brighter:
            yield f"Refuge {gradient.refuge} is brighter than {gradient.basking}."
        elif not gradient.really_darker:
            yield f"Refuge {gradient.refuge} is not darker than {gradient.basking} beyond the error."


def _run(told: SceneAnswer) -> Iterator[str]:
    edges = told.result.edges_nm
    lost = told.power.unfinished.share
    if lost.value > LOSSY:
        share = share_words(lost)
        yield f"{share} of the light was given up before it was absorbed: readings are low by up to about that much."
    if edges[0] > 250.0 or edges[-1] < 400.0:
        yield (
            f"Only {edges[0]:g} to {edges[-1]:g} nm was traced; the UV index is defined over 250 to 400 nm, so light "
            "outside is missing from it."
        )


def _minutes(seconds: float, half_width: float) -> str:
    """Return a time and half of its 95 % interval, which is given relative to it."""
    unit, size = next((unit, size) for unit, size, most in _TIMES if seconds < most)
    # Nobody plans by a fraction of such a unit.
    return f"{seconds / size:.0f} ± {math.ceil(max(1.0, half_width * seconds / size))} {unit}"
