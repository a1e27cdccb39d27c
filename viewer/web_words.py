"""What a page tells in words and tables: lamps, zones with verdicts, the brightest places."""

import html
import math
from typing import Any

from sim.analysis.numbers import with_error
from sim.analysis.selection import Selection
from sim.analysis.zones import ZoneReport
from sim.report.tables import SIGNS
from sim.report.wording import value_of
from sim.tally.result import FloatArray
from sim.tally.statistics import estimate_parts
from viewer.marks import callouts_of, outline_of, place_of
from viewer.sides import edges_of


def lamp_rows(shown: Selection) -> str:
    """Return a slider a lamp, in percent of the level that was traced."""
    levels = shown.levels or (1.0,) * len(shown.result.lamps)
    rows = []
    for number, (lamp, level) in enumerate(zip(shown.result.lamps, levels, strict=True)):
        percent = 100.0 * level
        rows.append(
            f'<div class="lamp"><label for="lamp-{number}">{html.escape(lamp.name)}, share of the level traced</label>'
            f'<input type="range" id="lamp-{number}" min="0" max="{max(100.0, percent):g}" step="1" '
            f'value="{percent:g}"><span aria-hidden="true">{percent:g} %</span></div>'
        )
    return "\n".join(rows)


def zones_table(shown: Selection) -> str:
    """Return the zones as a table whose cells the page's script keeps up with the lamps."""
    zones = shown.told.zones
    if not zones:
        return '<p class="quiet">The scene has no zones.</p>'
    rows = "".join(_zone_row(number, zone) for number, zone in enumerate(zones))
    head = '<tr><th scope="col">zone</th><th scope="col">mean UVI</th><th scope="col">verdict</th></tr>'
    return f'<table aria-labelledby="zones">{head}{rows}</table>'


def _zone_row(number: int, zone: ZoneReport) -> str:
    return (
        f'<tr><th scope="row">{number + 1} {html.escape(zone.name)}</th>'
        f'<td class="number" id="zone-{number}">{with_error(*value_of(zone.uvi))}</td>'
        f'<td id="verdict-{number}">{html.escape(verdict_of(zone))}</td></tr>'
    )


def verdict_of(zone: ZoneReport) -> str:
    """Return a zone's verdict with its sign."""
    return f"{SIGNS[zone.verdict.outcome][0]} {zone.verdict.outcome}"


def zone_rows(shown: Selection) -> list[dict[str, Any]]:
    """Return what the script needs to tell a zone at other levels: each lamp's share of its mean UVI, and bounds."""
    from sim.analysis.maps import Maps

    lamps = range(len(shown.result.lamps))
    alone = [Maps(shown.result, [float(lamp == other) for other in lamps]) for lamp in lamps]
    rows = []
    for zone in shown.told.zones:
        values = [maps.mean_over(zone.group, maps.uvi) for maps in alone]
        parts = estimate_parts([[[part[k]] for part in values] for k in range(len(values[0]))])
        low, high = zone.target.low, zone.target.high
        rows.append(
            {
                "means": [[float(one[0])] for one in parts.mean],
                "pairs": [[float(one[0])] for one in parts.covariance],
                "verdict": verdict_of(zone),
                "low": low if math.isfinite(low) else None,
                "high": high if math.isfinite(high) else None,
            }
        )
    return rows


def places_list(shown: Selection) -> str:
    """Return the brightest place within reach and the hot spots as a list."""
    places = [item.text for item in callouts_of(shown) if item.pinned]
    if not places:
        return ""
    rows = "".join(f"<li>{html.escape(text).replace(chr(10), '; ')}</li>" for text in places)
    return f"<h2>Bright places, at the levels traced</h2><ul>{rows}</ul>"


def label_of(shown: Selection) -> str:
    """Return the model told in words, for those who do not see it."""
    pins = [item.text.replace("\n", ", ") for item in callouts_of(shown) if item.pinned]
    highest = f"; {pins[0]}" if pins else ""
    return f"Model of the enclosure with {shown.title} on its surfaces{highest}. Numbers stand in the tables beside."


def marks(shown: Selection, room: FloatArray | None) -> list[dict[str, Any]]:
    """Return what is marked over the model: zones as in the table, bright places, sides of the enclosure by name.

    Parameters
    ----------
    shown : Selection
    room : (2, 3) float, optional [m]
        Lowest and highest corner of the enclosure.
    """
    bright = [
        {"kind": "bright", "text": item.text.splitlines()[0], "at": list(item.at), "outline": []}
        for item in callouts_of(shown)
        if item.pinned
    ]
    zones = []
    for number, zone in enumerate(shown.told.zones, start=1):
        at = list(place_of(shown.result, zone.group))
        outline = outline_of(zone.group).tolist() if zone.group.shape != (0, 0) else []
        zones.append({"kind": "zone", "text": f"{number} {zone.name}", "at": at, "outline": outline})
    return [*_sides(room), *bright, *zones]


def _sides(room: FloatArray | None) -> list[dict[str, Any]]:
    if room is None:
        return []
    # Lower front, lower right, and the upright edge of the front left corner.
    told = [
        edge for edge in edges_of(room) if (edge.axis, edge.sides) in ((0, (0, 0, 0)), (1, (1, 0, 0)), (2, (0, 0, 0)))
    ]
    return [{"kind": "side", "text": edge.words, "at": edge.middle.tolist(), "outline": []} for edge in told]
