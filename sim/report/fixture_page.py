"""The sheet of lamps in their fixtures as one self-contained page: what a maker's sheet tells, with error bars."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.analysis.fixture import FixturePlane, FixtureTrace
from sim.analysis.numbers import percent, with_error
from sim.report.cautions import NOTABLE_SHARE_BELOW_298, SHORT, STANDING
from sim.report.curve import Curve
from sim.report.drawing import figure_style, inline_svg
from sim.report.drawn import Drawn
from sim.report.fixture_names import name_of, told_apart
from sim.report.fixture_page_tables import at_distances, compared_row, outputs, percent_of
from sim.report.fixture_tables import width_words
from sim.report.lengths import LengthUnit
from sim.report.page_tables import TextTable
from sim.report.profile_figure import profile_figure
from sim.report.rendering import render, safe
from sim.report.section_figure import Plane, section_figure
from sim.report.spectrum_figure import spectrum_figure
from sim.report.wording import MICROWATTS_PER_CM2, known, share_words

COMPARED = 0.3
"""The distance nearest to this is told first [m], a usual one over a basking place."""


@dataclass(frozen=True)
class Made:
    """When and with what a sheet was made: passed in, so that equal traces give equal pages."""

    date: str
    version: str
    seed: int


def fixture_page(traces: Sequence[FixtureTrace], made: Made, unit: LengthUnit) -> str:
    """Return the page as HTML.

    Parameters
    ----------
    traces : sequence of FixtureTrace, at least one
    made : Made
    unit : LengthUnit
        That lengths are shown in.
    """
    traces = told_apart(traces)
    with figure_style():
        sheets = [_sheet(trace, index, made, unit) for index, trace in enumerate(traces)]
    scenes = ", ".join(dict.fromkeys(trace.scene for trace in traces))
    return render(
        "sheet.html",
        title=name_of(traces[0]) if len(traces) == 1 else f"Lamps of {scenes}",
        date=made.date,
        short_caution=SHORT,
        compared=_compared(traces, unit) if len(traces) > 1 else None,
        # The heading of the page has named a single one.
        sheets=sheets if len(sheets) > 1 else [sheets[0] | {"name": "In numbers"}],
        standing=STANDING,
        replicates=traces[0].uvi.shape[0],
    )


def _compared(traces: Sequence[FixtureTrace], unit: LengthUnit) -> TextTable:
    at = unit.short(float(traces[0].distances[_row(traces[0])]))
    columns = ("Lamp", f"UVI at {at}", f"Lit across, {unit.symbol}", f"Lit along, {unit.symbol}", "Ahead, %", "Lost, %")
    rows = tuple((name_of(trace), *compared_row(trace, _row(trace), unit)) for trace in traces)
    return TextTable("All lamps: UV index, width of the lit band, and shares of the light", columns, rows)


def _row(trace: FixtureTrace) -> int:
    return int(np.argmin(np.abs(trace.distances - COMPARED)))


def _sheet(trace: FixtureTrace, index: int, made: Made, unit: LengthUnit) -> dict[str, Any]:
    return {
        "id": f"lamp-{index + 1}",
        "name": name_of(trace),
        "facts": _facts(trace, unit),
        "distances": at_distances(trace, unit),
        "outputs": outputs(trace),
        "curve": safe(_curve(trace, index, unit)),
        "planes": safe(_planes(trace, index, unit)),
        "spectrum": safe(_spectrum(trace, index)),
        "notes": [unit.restated(note) for note in trace.record.notes],
        "cautions": _cautions(trace),
        "provenance": _provenance(trace, made),
    }


def _facts(trace: FixtureTrace, unit: LengthUnit) -> list[tuple[str, str]]:
    row = _row(trace)
    at = unit.short(float(trace.distances[row]))
    uvi, uvb = trace.uvi_at_power(), trace.uvb_at_power()
    across, along = trace.widths(row)
    ahead = trace.share("uvi", "ahead") or trace.share("", "ahead")
    share = trace.share_below_298(row)
    facts = [
        (f"UV index at {at}", with_error(float(uvi.mean[row]), float(uvi.half_width[row]))),
        (f"UVB, 280 to 320 nm, at {at}", f"{_microwatts(uvb.mean[row], uvb.half_width[row])} µW/cm²"),
        (f"Lit band across at {at}", _width(width_words(across, unit), unit)),
        (f"Lit band along at {at}", _width(width_words(along, unit), unit)),
        ("Leaves ahead, of its UV index", "–" if ahead is None else f"{percent_of(ahead)} %"),
        ("UV index from below 298 nm", share_words(share)),
        ("Radiant power", f"{known(trace.power)} W"),
    ]
    return facts


def _width(words: str, unit: LengthUnit) -> str:
    return "no end within what was traced" if words == "-" else f"{words} {unit.symbol}"


def _microwatts(value: float, half_width: float) -> str:
    return with_error(MICROWATTS_PER_CM2 * float(value), MICROWATTS_PER_CM2 * float(half_width))


def _curve(trace: FixtureTrace, index: int, unit: LengthUnit) -> Drawn:
    name = f"curve-{index + 1}"
    curve = Curve(trace.lamp, trace.distances, trace.uvi_at_power())
    svg = inline_svg(profile_figure([curve], unit), name)
    near, far = (f"{curve.uvi.mean[at]:.2f} at {unit.short(float(curve.distance[at]))}" for at in (0, -1))
    label = f"UV index of {name_of(trace)} against distance: {near}, {far}."
    caption = (
        "Along the facing of the lamp, on a receiver that looks at it; the band around the line is the 95 % interval. "
        "Grey bands are the exposure zones 1 to 4."
    )
    return Drawn(name, svg, label, caption)


def _planes(trace: FixtureTrace, index: int, unit: LengthUnit) -> Drawn | None:
    planes = [_plane(trace, plane, unit) for plane in trace.planes if np.nanmax(plane.uvi, initial=0.0) > 0.0]
    if not planes:
        return None
    name = f"planes-{index + 1}"
    svg = inline_svg(section_figure(planes, unit, reading="UV index, looking back at the lamp's plane"), name)
    tops = "; ".join(f"{plane.title}, highest cell {plane.highest[2]:.2f}" for plane in planes)
    caption = (
        "In free air through the middle of the lamp, for a meter that faces against the way it shines. Contours carry "
        "their UV index; each step of colour lies between two of them. Thin lines are the lamp and its reflectors."
    )
    return Drawn(name, svg, f"Sections of the UV index of {name_of(trace)}: {tops}.", caption)


def _plane(trace: FixtureTrace, plane: FixturePlane, unit: LengthUnit) -> Plane:
    found = trace.at_power(plane.uvi)
    lateral, distance = ((unit.of(low), unit.of(high)) for low, high in (plane.lateral, plane.distance))
    labels = (f"{plane.side} the lamp, from its middle", "distance from its middle")
    lines = unit.per_metre * plane.lines
    return Plane(f"{plane.side} the lamp", labels, lateral, distance, found.mean, found.se, lines, downward=True)


def _spectrum(trace: FixtureTrace, index: int) -> Drawn:
    name = f"spectrum-{index + 1}"
    low, high = trace.edges_nm[0], trace.edges_nm[-1]
    svg = inline_svg(spectrum_figure([trace.record], trace.edges_nm), name)
    caption = (
        "Top: what the lamp itself sends out, before its reflectors. Bottom: how much a wavelength counts for the UV "
        "index (CIE S 007/E:1998)."
    )
    return Drawn(name, svg, f"Spectrum of {trace.lamp} from {low:g} to {high:g} nm.", caption)


def _cautions(trace: FixtureTrace) -> list[str]:
    lines = []
    share = trace.share_below_298(_row(trace))
    if share.value > NOTABLE_SHARE_BELOW_298:
        lines.append(
            f"{share_words(share)} of its UV index comes from below 298 nm, which the sun hardly sends to the ground: "
            "targets drawn from sunlight do not carry over, and such light hurts eyes."
        )
    if trace.record.has_range:
        low, high = (percent(factor) for factor in trace.record.power_range)
        lines.append(
            f"Its power is known only between {low} and {high} of what was taken, by {trace.record.range_from}; the "
            "errors shown do not hold that."
        )
    return lines


def _provenance(trace: FixtureTrace, made: Made) -> list[tuple[str, str]]:
    return [
        ("Program", f"vivray {made.version}"),
        ("Scene", trace.scene),
        ("Lamp", trace.lamp),
        ("Finish", trace.finish or "as in the scene"),
        ("Seed", str(made.seed)),
        ("Photons", f"{trace.histories:,}"),
        ("Replicates", str(trace.uvi.shape[0])),
        ("Bands", f"{len(trace.edges_nm) - 1}, {trace.edges_nm[0]:g} to {trace.edges_nm[-1]:g} nm"),
        ("Date", made.date),
    ]
