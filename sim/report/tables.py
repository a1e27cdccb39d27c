"""The answer in the terminal: short tables, errors beside every number."""

from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderResult
from rich.console import Group as Lines
from rich.table import Table
from rich.text import Text

from sim.analysis.coverage import HotSpot, SceneAnswer
from sim.analysis.numbers import plain, with_error
from sim.analysis.rows import Row
from sim.analysis.verdict import CLOSE, INSIDE, NO_TARGET, OUTSIDE
from sim.analysis.zones import ZoneReport
from sim.report.cautions import SHORT
from sim.report.highest import note_beside, value_words
from sim.report.lengths import CENTIMETRES, LengthUnit
from sim.report.prose import Prose
from sim.report.wording import (
    READING_COLUMNS,
    between,
    covered_words,
    disagreement,
    missed_light,
    peak_words,
    reading_words,
    value_of,
)
from sim.tally.lamp_record import LampRecord

# A sign beside the colour: no verdict may be told by colour alone.
SIGNS = {INSIDE: ("+", "green"), OUTSIDE: ("!", "bold red"), CLOSE: ("?", "yellow"), NO_TARGET: ("-", "dim")}

GAP, LEAST_NAME = 2, 8
"""Between columns, and the narrowest that names are folded to for the sake of numbers [letters]."""


def terminal_tables(told: SceneAnswer, unit: LengthUnit = CENTIMETRES) -> Lines:
    """Return zones, sensors, the highest reachable place and hot spots, ready for a rich console.

    Where there are neither zones nor sensors, the surfaces stand in. Errors are half widths of 95 % intervals.

    Parameters
    ----------
    told : SceneAnswer
    unit : LengthUnit
        That lengths are told in.
    """
    parts: list[Table | Prose] = []
    if told.zones:
        parts += [*_zone_tables(told.zones), *(Prose(_verdict(zone)) for zone in told.zones)]
    if told.sensors:
        parts.append(_row_table("Sensors", told.sensors))
    if not parts:
        parts.append(_row_table("Surfaces", told.surfaces))
    parts += _highest(told, unit)
    for lamp in told.result.lamps:
        parts += _lamp(lamp, told.result.meta.replicates, unit)
    parts.append(Prose(Text(f"± is half of a 95 % interval. {SHORT}", style="dim")))
    return Lines(*parts)


class WholeNumbers(Table):
    """A table that is too wide breaks its names, and its numbers only where nothing else helps.

    Attributes
    ----------
    names : int
        Columns that hold names: the first ones.
    """

    names = 1

    def number_widths(self, room: int) -> list[int] | None:
        """Return how wide the columns of numbers are in so much room [letters], or None where they would break."""
        numbers = self.columns[self.names :]
        widest = [max((cell_len(str(cell)) for cell in column.cells), default=0) for column in numbers]
        for heads in ([[str(column.header)] for column in numbers], [str(column.header).split() for column in numbers]):
            wanted = [max(width, *map(cell_len, words)) for width, words in zip(widest, heads, strict=True)]
            if sum(wanted) + GAP * (len(self.columns) - 1) + self.names * LEAST_NAME <= room:
                return wanted
        return None

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Yield what is printed."""
        for column, width in zip(self.columns[self.names :], self.number_widths(options.max_width) or (), strict=False):
            column.width = width
        yield from super().__rich_console__(console, options)


def plain_table(title: str, *columns: str, names: int = 1) -> WholeNumbers:
    """Return an empty table with a title: columns of names on the left, those of numbers on the right."""
    table = WholeNumbers(
        title=title, title_justify="left", title_style="bold", box=None, pad_edge=False, padding=(0, GAP, 0, 0)
    )
    table.names = names
    for index, column in enumerate(columns):
        table.add_column(column, justify="left" if index < names else "right", overflow="fold")
    return table


def _zone_tables(zones: tuple[ZoneReport, ...]) -> list[Table | Prose]:
    """Return the zones, and in a table of its own what is known of the lamps' power leaves open of their means."""
    table = plain_table("Zones", "zone", "role", "UVI mean", "lowest", "highest", "covered", names=2)
    ranges = plain_table("UVI mean, lamps weak to strong", "zone", "as above", "weak to strong")
    for zone in zones:
        mean = with_error(*value_of(zone.uvi))
        extremes = value_words(zone.low), value_words(zone.high)
        table.add_row(Text(zone.name), zone.role, mean, *extremes, covered_words(zone))
        if zone.uvi_between is not None:
            ranges.add_row(Text(zone.name), mean, between(*zone.uvi_between))
    return [table, ranges] if ranges.row_count else [table]


def _verdict(zone: ZoneReport) -> Text:
    sign, style = SIGNS[zone.verdict.outcome]
    return Text.assemble((f"{sign} ", style), (zone.name, "bold"), (f": {zone.verdict.words}", style))


def _row_table(title: str, rows: tuple[Row, ...]) -> Table:
    table = plain_table(title, "name", "UVI mean", "lowest", "highest", "W/m2")
    for row in rows:
        table.add_row(
            Text(row.name),
            with_error(*value_of(row.uvi)),
            *((value_words(row.low), value_words(row.high)) if row.group.count > 1 else ("", "")),
            with_error(*value_of(row.irradiance)),
        )
    return table


def _lamp(lamp: LampRecord, replicates: int, unit: LengthUnit) -> list[Table | Prose]:
    """Return what is to be known of a lamp: readings beside the model, notes, and where its light may be missing."""
    parts: list[Table | Prose] = []
    if lamp.readings:
        table = plain_table(f"Readings of {lamp.name}", *(column.lower() for column in READING_COLUMNS))
        for reading in lamp.readings:
            table.add_row(*reading_words(reading, replicates, unit))
        parts.append(table)
    if lamp.agreement is not None and lamp.agreement.doubtful:
        parts.append(Prose(Text(f"! {lamp.name}: {disagreement(lamp.agreement)}", style="bold red")))
    if lamp.missed_at:
        parts.append(Prose(Text(f"! {lamp.name}: {missed_light(lamp.missed_at, unit)}", style="bold red")))
    notes = unit.restated("; ".join(lamp.notes))
    return [*parts, Prose(Text(f"{lamp.name}: {notes}", style="dim"))] if notes else parts


def _highest(told: SceneAnswer, unit: LengthUnit) -> list[Table | Prose]:
    if told.peak is None:
        nothing = "Nothing is within reach of an animal: name reachable surfaces to learn the highest UVI it can get."
        return [Prose(Text(nothing))]
    value = value_words(told.peak.place)
    lines = [Text.assemble("Highest UVI within reach: ", (value, "bold"), f", {peak_words(told.peak, unit)}")]
    note = note_beside(told)
    if note:
        lines.append(Text(note, style="dim"))
    for spot in told.hot_spots:
        sign, style = SIGNS[OUTSIDE if spot.sure else CLOSE]
        over = "over" if spot.sure else "perhaps over"
        text = f"{sign} hot spot, {over} {plain(spot.limit)} ({spot.limit_from}): {value_words(spot.peak.place)}, "
        lines.append(Text(f"{text}{peak_words(spot.peak, unit)}; {_area(spot, unit)}", style=style))
    return [*map(Prose, lines)]


def _area(spot: HotSpot, unit: LengthUnit) -> str:
    area = f"{unit.area(spot.area)} {unit.symbol}2"
    if spot.area_surely == spot.area:
        return area
    return f"{area}, {unit.area(spot.area_surely) if spot.area_surely > 0.0 else 'none of it'} beyond the error"
