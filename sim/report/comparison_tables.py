"""Two results in numbers: zones, sensors and surfaces with their means and the difference."""

from collections.abc import Sequence
from typing import Any

from rich.console import Group as Lines
from rich.table import Table
from rich.text import Text

from sim.analysis.change import Change
from sim.analysis.comparison import Comparison, Pair, beyond_error
from sim.analysis.numbers import with_error
from sim.report.cautions import SHORT
from sim.report.wording import value_of
from sim.tally.statistics import Estimate


def comparison_rows(compared: Comparison) -> list[dict[str, Any]]:
    """Return the means of each group that both results have, and their difference, as plain JSON values."""
    return [_row(compared, pair) for pair in compared.pairs]


def _row(compared: Comparison, pair: Pair) -> dict[str, Any]:
    first, second = compared.means(pair)
    found = compared.mean_difference(pair)
    return {
        "kind": pair.first.kind,
        "name": pair.name,
        "first": float(first.mean),
        "first_ci95": float(first.half_width),
        "second": float(second.mean),
        "second_ci95": float(second.half_width),
        "difference": float(found.mean[0]),
        "difference_se": float(found.se[0]),
        "difference_ci95": float(found.half_width[0]),
        "beyond_error": bool(beyond_error(found)[0]),
    }


def comparison_table(compared: Comparison, names: tuple[str, str]) -> Lines:
    """Return the zones, sensors and places within reach, or the surfaces where there are none, for a rich console."""
    unit = f", {compared.first.unit}" if compared.first.unit else ""
    table = _table(f"{compared.first.title}{unit}: area means", names)
    kinds = ("zone", "sensor", "reach")
    wanted = [pair for pair in compared.pairs if pair.first.kind in kinds] or list(compared.pairs)
    for pair in wanted:
        found = compared.mean_difference(pair)
        _add(table, pair.name, (*compared.means(pair), Estimate(found.mean[0], found.se[0], found.replicates)))
    notes = [Text(f"± is half of a 95 % interval; what differs does so beyond it. {SHORT}", style="dim")]
    if compared.left_out:
        notes.insert(0, Text(f"not in both, by name and place: {', '.join(compared.left_out)}"))
    return Lines(table, *notes)


def change_table(found: Sequence[Change]) -> Table:
    """Return what a change of a scene brought to its zones and sensors, for a rich console."""
    table = _table("What the change brought, UV index: area means", ("before", "now"))
    for change in found:
        _add(table, change.name, (change.before, change.now, change.difference))
    return table


def _table(title: str, names: tuple[str, str]) -> Table:
    table = Table(title=title, title_justify="left", title_style="bold", box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for index, column in enumerate(("name", *names, "difference", "differs")):
        number = index in (1, 2, 3)
        table.add_column(
            column,
            justify="right" if number else "left",
            overflow="fold",
            no_wrap=number,
            min_width=14 if index == 0 else None,
        )
    return table


def _add(table: Table, name: str, numbers: tuple[Estimate, Estimate, Estimate]) -> None:
    """Add a row: means in the first and in the second, and their difference."""
    told = "yes" if bool(beyond_error(numbers[2])) else "no"
    table.add_row(Text(name), *(with_error(*value_of(number)) for number in numbers), told)
