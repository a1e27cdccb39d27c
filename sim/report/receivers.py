"""Every receiver as one row of a table for a spreadsheet."""

import csv
import io

import numpy as np

from sim.analysis.coverage import SceneAnswer
from sim.analysis.maps import Maps
from sim.report.wording import QUANTITIES
from sim.tally.result import FloatArray
from sim.tally.statistics import estimate

PLACE_COLUMNS = ("kind", "name", "cell", "x_m", "y_m", "z_m", "normal_x", "normal_y", "normal_z", "area_m2")
LINE_END = "\r\n"


def receivers_csv(told: SceneAnswer) -> str:
    """Return the receivers as CSV: place, unweighted irradiance, UV index and more, each with its standard error.

    Units stand in the names of the columns; the UV index has none. Lines end as RFC 4180 says.

    Parameters
    ----------
    told : SceneAnswer
    """
    names, columns = _values(told.maps)
    result = told.result
    numbers = np.column_stack([result.centre, result.normal, result.area, columns])
    row_format = ",%d" + ",%.7g" * numbers.shape[1] + LINE_END
    lines = [_line(*PLACE_COLUMNS, *names), LINE_END]
    for group in result.groups:
        words = _line(group.kind, group.name)
        lines += [words + row_format % (cell, *row) for cell, row in enumerate(numbers[group.rows].tolist())]
    return "".join(lines)


def _line(*words: str) -> str:
    """Return words as the beginning of a line, in quotes where they need them."""
    buffer = io.StringIO()
    csv.writer(buffer, lineterminator="").writerow(words)
    return buffer.getvalue()


def _values(maps: Maps) -> tuple[list[str], FloatArray]:
    """Return the names of the columns and their values, (receiver, column)."""
    maps.read(QUANTITIES)
    quantities = [("irradiance", "_W_m2", maps.irradiance), ("uvi", "", maps.uvi)]
    quantities += [(key, "_W_m2", maps.of(name)) for name, (key, _) in QUANTITIES.items()]
    names, columns = [], []
    for key, unit, values in quantities:
        found = estimate(values)
        names += [f"{key}{unit}", f"{key}_se{unit}"]
        columns += [found.mean, found.se]
    return names, np.column_stack(columns)
