"""The tables of the page: rows of finished text."""

from collections.abc import Sequence
from dataclasses import dataclass

from sim.analysis.coverage import SceneAnswer
from sim.analysis.extremes import Place
from sim.analysis.numbers import plain, with_error
from sim.analysis.rows import Row
from sim.analysis.zones import ZoneReport
from sim.report.curve import Curve
from sim.report.highest import value_words
from sim.report.lengths import CENTIMETRES, LengthUnit
from sim.report.wording import (
    MICROWATTS_PER_CM2,
    QUANTITIES,
    READING_COLUMNS,
    between,
    covered_words,
    known,
    peak_words,
    reading_words,
    share_words,
    value_of,
)
from sim.tally.lamp_record import LampRecord

MOST_DISTANCES = 10
MOST_BESIDE = 5
"""Zones beside each other in a table: more would be cut off on paper."""


@dataclass(frozen=True)
class TextTable:
    """A table as it stands on the page.

    Attributes
    ----------
    caption : str
    columns : tuple of str
    rows : tuple of tuple of str
        The first cell of a row is its heading.
    words : tuple of int
        Columns that hold words, which may wrap and stand on the left.
    """

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: tuple[int, ...] = ()


def zone_table(zones: Sequence[ZoneReport]) -> TextTable:
    """Return target, UV index and covered share of every zone."""
    columns = ("Zone", "Mean UVI", "Highest", "Covered share", "Target", "Role")
    rows = tuple(
        (
            zone.name,
            with_error(*value_of(zone.uvi)),
            value_words(zone.high),
            covered_words(zone) or "–",
            zone.target.words,
            zone.role,
        )
        for zone in zones
    )
    return TextTable("UV index in the zones, at the height of the animal's back", columns, rows, (4, 5))


def range_table(zones: Sequence[ZoneReport], unit: LengthUnit = CENTIMETRES) -> TextTable:
    """Return the extremes of every zone and the exposure zone that its mean fits."""
    columns = ("Zone", "Lowest UVI", "Highest UVI", f"Highest at x, y, z, {unit.symbol}", "Exposure zone of its mean")
    rows = tuple(
        (
            zone.name,
            value_words(zone.low),
            value_words(zone.high),
            _at(zone.high, unit),
            zone.exposure_zone.words.removeprefix("zone "),
        )
        for zone in zones
    )
    return TextTable("Extremes within the zones", columns, rows, (4,))


def _at(place: Place, unit: LengthUnit) -> str:
    return ", ".join(map(unit.number, place.position))


def quantity_tables(zones: Sequence[ZoneReport]) -> list[TextTable]:
    """Return the other weighted irradiances of every zone, a row each, and the share of UVI from below 298 nm.

    So many zones a table as a printed page is wide enough for.
    """
    most = len(zones) if len(zones) <= MOST_BESIDE else -(-len(zones) // -(-len(zones) // MOST_BESIDE))
    return [_quantity_table(zones[first : first + most]) for first in range(0, len(zones), most or 1)]


def _quantity_table(zones: Sequence[ZoneReport]) -> TextTable:
    columns = ("Quantity", *(zone.name for zone in zones))
    rows = [("UVI from below 298 nm", *(share_words(zone.below_298) for zone in zones))]
    for name, (_, words) in QUANTITIES.items():
        values = (value_of(zone.others[name]) for zone in zones)
        rows.append((words, *(with_error(*(MICROWATTS_PER_CM2 * part for part in value)) for value in values)))
    return TextTable("Other means over the zones; irradiances in µW/cm²", columns, tuple(rows))


def power_table(zones: Sequence[ZoneReport]) -> TextTable:
    """Return what every zone's mean would be at both ends of what is known of the lamps' power."""
    columns = ("Zone", "Mean UVI, as shown", "Lamps weak to strong")
    rows = tuple(
        (zone.name, with_error(*value_of(zone.uvi)), between(*zone.uvi_between))
        for zone in zones
        if zone.uvi_between is not None
    )
    return TextTable("Mean UVI over what is known of the lamps' power; not part of the errors shown", columns, rows)


def reading_table(lamp: LampRecord, replicates: int, unit: LengthUnit = CENTIMETRES) -> TextTable:
    """Return the readings that a lamp's power was fitted to beside what the model gives there."""
    rows = tuple(reading_words(reading, replicates, unit) for reading in lamp.readings)
    return TextTable(f"Readings of lamp {lamp.name}, to which one power was fitted", READING_COLUMNS, rows)


def hot_spot_table(told: SceneAnswer, unit: LengthUnit = CENTIMETRES) -> TextTable:
    """Return every surface or zone within reach with cells over the limit."""
    area, surely = f"Area over it, {unit.square}", f"Of that beyond the error, {unit.square}"
    columns = ("Where", "UVI", "Limit", "Set by zone", area, surely, "Certain")
    rows = tuple(
        (
            peak_words(spot.peak, unit),
            value_words(spot.peak.place),
            plain(spot.limit),
            spot.limit_from,
            unit.area(spot.area),
            unit.area(spot.area_surely),
            "yes" if spot.sure else "no, within the error",
        )
        for spot in told.hot_spots
    )
    return TextTable("Hot spots: places within reach over the limit", columns, rows, (3, 6))


def row_table(caption: str, rows: Sequence[Row], unit: LengthUnit = CENTIMETRES) -> TextTable:
    """Return means and extremes of surfaces or sensors."""
    highest = f"Highest at x, y, z, {unit.symbol}"
    columns = ("Name", f"Area, {unit.square}", "Mean UVI", "Lowest", "Highest", highest, "Irradiance, W/m²")
    lines = tuple(
        (
            row.name,
            unit.area(row.area) if row.area > 0 else "point",
            with_error(*value_of(row.uvi)),
            *((value_words(row.low), value_words(row.high)) if row.group.count > 1 else ("–", "–")),
            _at(row.high, unit),
            with_error(*value_of(row.irradiance)),
        )
        for row in rows
    )
    return TextTable(caption, columns, lines)


def distance_table(shown: Sequence[Curve], unit: LengthUnit = CENTIMETRES) -> TextTable:
    """Return the UV index at some of the distances of each curve, at most `MOST_DISTANCES` a lamp."""
    rows = tuple(
        (curve.lamp, unit.number(curve.distance[at]), with_error(*_at_row(curve, at)))
        for curve in shown
        for at in range(0, len(curve.distance), -(-len(curve.distance) // MOST_DISTANCES))
    )
    columns = ("Lamp", f"Distance from its middle, {unit.symbol}", "UVI, looking at the lamp")
    return TextTable("UV index by distance under the lamps", columns, rows)


def _at_row(curve: Curve, at: int) -> tuple[float, float]:
    return float(curve.uvi.mean[at]), float(curve.uvi.half_width[at])


def energy_table(told: SceneAnswer) -> TextTable:
    """Return where the emitted power went, largest first."""
    budget = told.power
    absorbed = sorted(budget.absorbed_by.items(), key=lambda item: -float(item[1].power.mean))
    rows = [
        ("emitted by all lamps", budget.emitted),
        *((f"absorbed by {name}", part) for name, part in absorbed),
        ("left through openings", budget.escaped),
        ("given up unfinished", budget.unfinished),
    ]
    edges = told.result.edges_nm
    caption = f"Radiant power between {edges[0]:g} and {edges[-1]:g} nm"
    lines = tuple((name, known(part.power), share_words(part.share)) for name, part in rows)
    return TextTable(caption, ("Power", "W", "Share"), lines)
