"""Fixtures in the terminal: one row each, and for a single one its distances and losses, errors beside every number."""

from collections.abc import Sequence

import numpy as np
from rich.console import Console, ConsoleOptions, RenderResult
from rich.console import Group as Lines
from rich.table import Table
from rich.text import Text

from sim.analysis.fixture import FateKind, FixtureTrace, Width
from sim.analysis.numbers import with_error
from sim.report.cautions import SHORT
from sim.report.fixture_names import told_apart
from sim.report.fixture_summary import LOST
from sim.report.lengths import CENTIMETRES, LengthUnit
from sim.report.prose import Prose
from sim.report.tables import WholeNumbers, plain_table

COMPARED = 0.3
"""Fixtures are compared at the distance nearest to this one [m], a usual one over a basking place."""


def fixture_tables(traces: Sequence[FixtureTrace], unit: LengthUnit = CENTIMETRES) -> Lines:
    """Return a row for each fixture, and where there is only one its distances and losses, ready for a console.

    Parameters
    ----------
    traces : sequence of FixtureTrace
    unit : LengthUnit
        That lengths are told in.
    """
    traces = told_apart(traces)
    parts: list[_Compared | Table | Prose] = [_Compared(traces, unit)]
    if len(traces) == 1:
        parts += [_distances(traces[0], unit), _losses(traces[0])]
    for name in dict.fromkeys(trace.lamp for trace in traces):
        notes = next(trace.record.notes for trace in traces if trace.lamp == name)
        parts += [Prose(Text(f"{name}: {unit.restated(note)}", style="dim")) for note in notes]
    explained = (
        "Each lamp with its own reflectors, alone in free space. Distances count from its middle along its facing; "
        "across and along tell the full width at half the maximum. What leaves ahead of the lamp, behind it, and "
        "what is lost in its body and in its mirrors are shares of its UVI, or of all its light where it has none. "
        f"± is half of a 95 % interval. {SHORT}"
    )
    parts.append(Prose(Text(explained, style="dim")))
    return Lines(*parts)


class _Compared:
    """One table of all fixtures, or where that is too wide two, so that no number is broken."""

    def __init__(self, traces: Sequence[FixtureTrace], unit: LengthUnit) -> None:
        self._traces, self._unit = traces, unit

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Yield what is printed."""
        light, shares = self._light(), self._shares()
        whole = self._table("Fixtures", light, shares)
        if whole.number_widths(options.max_width) is not None:
            yield whole
        else:
            yield self._table("Fixtures", light)
            yield self._table("Where the light of the fixtures goes", shares)

    def _table(self, title: str, *parts: dict[str, list[str]]) -> WholeNumbers:
        """Return a table of columns by their heads, after the names."""
        names = {"lamp": [trace.lamp for trace in self._traces]}
        if any(trace.finish for trace in self._traces):
            names["finish"] = [trace.finish or "-" for trace in self._traces]
        columns = {head: cells for part in (names, *parts) for head, cells in part.items()}
        table = plain_table(title, *columns, names=len(names))
        for cells in zip(*columns.values(), strict=True):
            table.add_row(*map(Text, cells))
        return table

    def _light(self) -> dict[str, list[str]]:
        rows = [int(np.argmin(np.abs(trace.distances - COMPARED))) for trace in self._traces]
        at = self._unit.short(float(self._traces[0].distances[rows[0]]))
        read = [(trace.uvi_at_power(), trace.widths(row), row) for trace, row in zip(self._traces, rows, strict=True)]
        return {
            f"UVI at {at}": [with_error(float(uvi.mean[row]), float(uvi.half_width[row])) for uvi, _, row in read],
            f"across, {self._unit.symbol}": [width_words(across, self._unit) for _, (across, _), _ in read],
            f"along, {self._unit.symbol}": [width_words(along, self._unit) for _, (_, along), _ in read],
        }

    def _shares(self) -> dict[str, list[str]]:
        kinds: dict[str, FateKind] = {
            "ahead, %": "ahead",
            "behind, %": "behind",
            "in lamp, %": "lamp",
            "in mirror, %": "reflector",
        }
        return {head: [_percent(trace, kind) for trace in self._traces] for head, kind in kinds.items()}


def _distances(trace: FixtureTrace, unit: LengthUnit) -> Table:
    table = plain_table(
        "By distance", unit.symbol, "UVI", "UVI per W", f"width across, {unit.symbol}", f"along, {unit.symbol}"
    )
    uvi, per_watt = trace.uvi_at_power(), trace.uvi_per_watt()
    for row, distance in enumerate(trace.distances):
        table.add_row(
            f"{unit.of(float(distance)):.4g}",
            with_error(float(uvi.mean[row]), float(uvi.half_width[row])),
            with_error(float(per_watt.mean[row]), float(per_watt.half_width[row])),
            *(width_words(width, unit) for width in trace.widths(row)),
        )
    return table


def _losses(trace: FixtureTrace) -> Table:
    table = plain_table("Where it is lost", "in", "UVI, %", "UVA, %", "all light, %")
    for kind, name in zip(trace.kinds, trace.names, strict=True):
        if kind in LOST:
            shares = (_percent_by(trace, weighting, kind, name) for weighting in ("uvi", "uva", ""))
            table.add_row(Text(name), *shares)
    return table


def _percent(trace: FixtureTrace, kind: FateKind) -> str:
    by = "uvi" if trace.share("uvi", kind) is not None else ""
    return _percent_by(trace, by, kind, None)


def _percent_by(trace: FixtureTrace, weighting: str, kind: FateKind, name: str | None) -> str:
    share = trace.share(weighting, kind, name=name)
    return "-" if share is None else f"{100.0 * float(share.mean):.2f} ± {100.0 * float(share.half_width):.2f}"


def width_words(width: Width, unit: LengthUnit) -> str:
    """Return a width with its error, or a dash where the band has no end."""
    return "-" if np.isnan(width.value + width.se) else with_error(unit.of(width.value), unit.of(width.half_width))
