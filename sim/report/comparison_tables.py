"""Two results in numbers: zones, sensors and surfaces with their means and the difference."""

from typing import Any

from rich.console import Group as Lines
from rich.table import Table
from rich.text import Text

from sim.analysis.comparison import Comparison, Pair, beyond_error
from sim.analysis.numbers import with_error
from sim.report.cautions import SHORT
from sim.report.wording import value_of


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
    title = f"{compared.first.title}{unit}: area means"
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
    kinds = ("zone", "sensor", "reach")
    wanted = [pair for pair in compared.pairs if pair.first.kind in kinds] or list(compared.pairs)
    for pair in wanted:
        first, second = compared.means(pair)
        found = compared.mean_difference(pair)
        value, half = float(found.mean[0]), float(found.half_width[0])
        told = "yes" if bool(beyond_error(found)[0]) else "no"
        cells = (with_error(*value_of(first)), with_error(*value_of(second)), with_error(value, half))
        table.add_row(Text(pair.name), *cells, told)
    notes = [Text(f"± is half of a 95 % interval; what differs does so beyond it. {SHORT}", style="dim")]
    if compared.left_out:
        notes.insert(0, Text(f"not in both, by name and place: {', '.join(compared.left_out)}"))
    return Lines(table, *notes)
