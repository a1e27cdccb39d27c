"""Fixtures in the terminal: one row each, and for a single one its distances and losses, errors beside every number."""

from collections.abc import Sequence

import numpy as np
from rich.console import Group as Lines
from rich.table import Table
from rich.text import Text

from sim.analysis.fixture import FateKind, FixtureTrace, Width
from sim.analysis.numbers import with_error
from sim.report.cautions import SHORT
from sim.report.fixture_summary import LOST
from sim.report.lengths import CENTIMETRES, LengthUnit
from sim.report.tables import plain_table

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
    parts: list[Table | Text] = [_compared(traces, unit)]
    if len(traces) == 1:
        parts += [_distances(traces[0], unit), _losses(traces[0])]
    for name in dict.fromkeys(trace.lamp for trace in traces):
        notes = next(trace.record.notes for trace in traces if trace.lamp == name)
        parts += [Text(f"{name}: {unit.restated(note)}", style="dim") for note in notes]
    parts.append(
        Text(
            "Each lamp with its own reflectors, alone in free space. Distances count from its middle along its facing; "
            "across and along tell the full width at half the maximum. What leaves ahead of the lamp, behind it, and "
            "what is lost in its body and in its mirrors are shares of its UVI, or of all its light where it has none. "
            f"± is half of a 95 % interval. {SHORT}",
            style="dim",
        )
    )
    return Lines(*parts)


def _compared(traces: Sequence[FixtureTrace], unit: LengthUnit) -> Table:
    rows = [int(np.argmin(np.abs(trace.distances - COMPARED))) for trace in traces]
    at = unit.short(float(traces[0].distances[rows[0]]))
    several = {trace.scene for trace in traces}
    finished = any(trace.finish for trace in traces)
    columns = ["lamp", *(["finish"] if finished else []), f"UVI at {at}", f"across, {unit.symbol}"]
    columns += [f"along, {unit.symbol}", "ahead, %"]
    table = plain_table("Fixtures", *columns, "behind, %", "in lamp, %", "in mirror, %")
    for trace, row in zip(traces, rows, strict=True):
        uvi = trace.uvi_at_power()
        table.add_row(
            Text(f"{trace.scene} {trace.lamp}" if len(several) > 1 else trace.lamp),
            *([Text(trace.finish or "-")] if finished else []),
            with_error(float(uvi.mean[row]), float(uvi.half_width[row])),
            *(width_words(width, unit) for width in trace.widths(row)),
            *(_percent(trace, kind) for kind in ("ahead", "behind", "lamp", "reflector")),
        )
    return table


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
