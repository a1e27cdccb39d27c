"""The tables of the page: rows of finished text."""

from collections.abc import Sequence
from dataclasses import dataclass

from sim.analysis.coverage import SceneAnswer
from sim.analysis.extremes import Place
from sim.analysis.numbers import percent, plain, with_error
from sim.analysis.rows import Row
from sim.analysis.zones import ZoneReport
from sim.report.wording import (
    MICROWATTS_PER_CM2,
    QUANTITIES,
    READING_COLUMNS,
    between,
    peak_words,
    reading_words,
    value_of,
)
from sim.tally.lamp_record import LampRecord


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
    columns = ("Zone", "Role", "Target", "Mean UVI", "Highest", "Covered share")
    rows = tuple(
        (
            zone.name,
            zone.role,
            zone.target.words,
            with_error(*value_of(zone.uvi)),
            _value(zone.high),
            _covered(zone),
        )
        for zone in zones
    )
    return TextTable("UV index in the zones, at the height of the animal's back", columns, rows, (1, 2))


def range_table(zones: Sequence[ZoneReport]) -> TextTable:
    """Return the extremes of every zone and the exposure zone that its mean fits."""
    columns = ("Zone", "Lowest UVI", "Highest UVI", "Highest at x, y, z, cm", "Exposure zone of its mean")
    rows = tuple(
        (
            zone.name,
            _value(zone.low),
            _value(zone.high),
            _at(zone.high),
            zone.exposure_zone.words.removeprefix("zone "),
        )
        for zone in zones
    )
    return TextTable("Extremes within the zones", columns, rows, (4,))


def _value(place: Place) -> str:
    return with_error(place.value, place.half_width)


def _at(place: Place) -> str:
    return ", ".join(f"{100 * part:.1f}" for part in place.position)


def _covered(zone: ZoneReport) -> str:
    if zone.covered is None:
        return "–"
    share = percent(zone.covered.share)
    return f"{share} ± {100 * zone.covered.half_width:.1f} %" if zone.covered.half_width > 0 else share


def quantity_table(zones: Sequence[ZoneReport]) -> TextTable:
    """Return the other weighted irradiances of every zone, and the share of UVI from below 298 nm."""
    columns = ("Zone", "UVI from below 298 nm", *(words for _, words in QUANTITIES.values()))
    rows = tuple(
        (
            zone.name,
            percent(zone.below_298.value) if zone.below_298.value == zone.below_298.value else "–",
            *(with_error(*(MICROWATTS_PER_CM2 * part for part in value_of(zone.others[name]))) for name in QUANTITIES),
        )
        for zone in zones
    )
    return TextTable("Other means over the zones; irradiances in µW/cm²", columns, rows)


def power_table(zones: Sequence[ZoneReport]) -> TextTable:
    """Return what every zone's mean would be at both ends of what is known of the lamps' power."""
    columns = ("Zone", "Mean UVI, as shown", "Lamps weak to strong")
    rows = tuple(
        (zone.name, with_error(*value_of(zone.uvi)), between(*zone.uvi_between))
        for zone in zones
        if zone.uvi_between is not None
    )
    return TextTable("Mean UVI over what is known of the lamps' power; not part of the errors shown", columns, rows)


def reading_table(lamp: LampRecord) -> TextTable:
    """Return the readings that a lamp's power was fitted to beside what the model gives there."""
    rows = tuple(reading_words(reading) for reading in lamp.readings)
    return TextTable(f"Readings of lamp {lamp.name}, to which one power was fitted", READING_COLUMNS, rows)


def hot_spot_table(told: SceneAnswer) -> TextTable:
    """Return every surface or zone within reach with cells over the limit."""
    columns = ("Where", "UVI", "Limit", "Set by zone", "Area over it, cm²", "Certain")
    rows = tuple(
        (
            peak_words(spot.peak),
            _value(spot.peak.place),
            plain(spot.limit),
            spot.limit_from,
            f"{1e4 * spot.area:.0f}",
            "yes" if spot.sure else "no, within the error",
        )
        for spot in told.hot_spots
    )
    return TextTable("Hot spots: places within reach over the limit", columns, rows, (3, 5))


def row_table(caption: str, rows: Sequence[Row]) -> TextTable:
    """Return means and extremes of surfaces or sensors."""
    columns = ("Name", "Area, cm²", "Mean UVI", "Lowest", "Highest", "Highest at x, y, z, cm", "Irradiance, W/m²")
    lines = tuple(
        (
            row.name,
            f"{1e4 * row.area:.0f}" if row.area > 0 else "point",
            with_error(*value_of(row.uvi)),
            _value(row.low),
            _value(row.high),
            _at(row.high),
            with_error(*value_of(row.irradiance)),
        )
        for row in rows
    )
    return TextTable(caption, columns, lines)


def energy_table(told: SceneAnswer) -> TextTable:
    """Return where the emitted power went, largest first."""
    energy = told.result.energy
    emitted = float(energy.emitted.sum())
    absorbed = {name: float(part.sum()) for name, part in zip(energy.names, energy.absorbed, strict=True)}
    parts = [(f"absorbed by {name}", power) for name, power in sorted(absorbed.items(), key=lambda item: -item[1])]
    parts += [("left through openings", float(energy.escaped.sum()))]
    parts += [("given up unfinished", float(energy.unfinished.sum()))]
    rows = [("emitted by all lamps", emitted), *parts, ("all but emitted together", sum(power for _, power in parts))]
    edges = told.result.edges_nm
    caption = f"Radiant power between {edges[0]:g} and {edges[-1]:g} nm"
    lines = tuple((name, plain(power), percent(power / emitted) if emitted > 0 else "–") for name, power in rows)
    return TextTable(caption, ("Power", "W", "Share"), lines)
