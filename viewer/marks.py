"""What is marked in a picture: zones with their verdicts, hot spots, the brightest place, lamps by name."""

import math
from collections.abc import Iterator

import numpy as np
import pyvista as pv

from sim.analysis.coverage import HotSpot, SceneAnswer, reachable_groups
from sim.analysis.extremes import Place, highest_place
from sim.analysis.numbers import plain, with_error
from sim.analysis.selection import Selection
from sim.analysis.zones import ZoneReport
from sim.report.highest import note_beside, value_words
from sim.report.tables import SIGNS
from sim.report.wording import place_words, value_of
from sim.tally.result import FloatArray, Group, Result
from viewer.callouts import Callout
from viewer.flat import INK, PAPER, add_line


def callouts_of(shown: Selection) -> list[Callout]:
    """Return the labels of what is shown, the most pressing first.

    Verdicts and hot spots are always those of the UV index, which targets are stated in.
    """
    zones = [zone_callout(shown.result, zone) for zone in shown.told.zones]
    return [*_bright_places(shown), *zones, *_lamps(shown)]


def _bright_places(shown: Selection) -> Iterator[Callout]:
    spots = {spot.peak.place.row: spot for spot in shown.told.hot_spots}
    groups = reachable_groups(shown.result)
    if groups:
        place = highest_place(shown.result, groups, shown.values)
        spot = spots.pop(place.row, None) if shown.quantity == "uvi" else None
        yield _pin("highest within reach", shown, place, spot)
    for spot in spots.values():
        yield Callout(spot.peak.place.position, "\n".join(_spot_lines(spot)), bold=True, pinned=True)


def bright_lines(told: SceneAnswer) -> list[str]:
    """Return the highest UV index within reach, why a zone can tell another, and the hot spots, a line each."""
    lines = []
    if told.peak is not None:
        place = told.peak.place
        where = place_words(place, told.peak.kind)
        lines.append(f"highest UVI within reach: {value_words(place)}, {where}")
    if note := note_beside(told):
        lines.append(note)
    return [*lines, *("; ".join(_spot_lines(spot)) for spot in told.hot_spots)]


def _pin(words: str, shown: Selection, place: Place, spot: HotSpot | None) -> Callout:
    lines = [f"{words}: {value_words(place)} {shown.unit}".rstrip()]
    if spot is not None:
        lines += [_over(spot)]
    lines += nearest_lamp(shown, place.position)
    return Callout(place.position, "\n".join(lines), bold=True, pinned=True)


def _spot_lines(spot: HotSpot) -> list[str]:
    place, peak = spot.peak.place, spot.peak
    value = f"hot spot: UVI {value_words(place)}"
    distance = [f"{100 * peak.lamp_distance:.0f} cm from the middle of {peak.lamp}"] if peak.lamp else []
    return [value, _over(spot), *distance]


def _over(spot: HotSpot) -> str:
    return f"{'! over' if spot.sure else '? perhaps over'} {plain(spot.limit)}, the limit of {spot.limit_from}"


def nearest_lamp(shown: Selection, position: tuple[float, float, float]) -> list[str]:
    """Return one line on the lamp nearest to a position [m], or none where there is no lamp."""
    lamps = shown.result.lamps
    if not lamps:
        return []
    distance, name = min((math.dist(position, lamp.centre), lamp.name) for lamp in lamps)
    return [f"{100.0 * distance:.0f} cm from the middle of {name}"]


def zone_callout(result: Result, zone: ZoneReport) -> Callout:
    """Return the label of a zone: its verdict and its mean UV index."""
    sign, _ = SIGNS[zone.verdict.outcome]
    text = f"{sign} {zone.name}: {zone.verdict.outcome}\nmean UVI {with_error(*value_of(zone.uvi))}"
    return Callout(place_of(result, zone.group), text)


def place_of(result: Result, group: Group) -> tuple[float, float, float]:
    """Return where a group is pointed at: a corner of its rectangle, or else its receiver next to their middle."""
    places = result.centre[group.rows]
    if group.shape != (0, 0) or not len(places):
        place = outline_of(group)[0]
    else:
        place = places[int(np.argmin(np.linalg.norm(places - places.mean(axis=0), axis=1)))]
    x, y, z = (float(part) for part in place)
    return x, y, z


def _lamps(shown: Selection) -> Iterator[Callout]:
    levels = shown.levels or (1.0,) * len(shown.result.lamps)
    for lamp, level in zip(shown.result.lamps, levels, strict=True):
        words = "" if level == 1.0 else ", off" if level == 0.0 else f", at {100.0 * level:.3g} %"
        yield Callout(lamp.centre, f"lamp {lamp.name}{words}")


def outline_of(group: Group) -> FloatArray:
    """Return the corners of a group's rectangle, (4, 3) [m]."""
    origin, edge_u, edge_v = (np.array(part) for part in (group.origin, group.edge_u, group.edge_v))
    return np.array([origin, origin + edge_u, origin + edge_u + edge_v, origin + edge_v])


def add_zone_outlines(renderer: pv.Renderer, shown: Selection) -> None:
    """Outline every zone, over all else: dark with a light core, which stands out on every colour of the map."""
    for group in shown.result.of_kind("zone"):
        corners = outline_of(group)
        if group.count and np.ptp(corners, axis=0).max() > 0.0:
            loop = [*corners, corners[0]]
            add_line(renderer, loop, INK, 4.0)
            add_line(renderer, loop, PAPER, 1.6)


def names_of(shown: Selection) -> list[Callout]:
    """Return the names of zones, numbered, and of lamps, without numbers that would change."""
    zones = [group for group in shown.result.of_kind("zone") if group.count]
    named = [
        Callout(place_of(shown.result, group), f"{number} {group.name}") for number, group in enumerate(zones, start=1)
    ]
    return [*named, *(Callout(lamp.centre, f"lamp {lamp.name}") for lamp in shown.result.lamps)]
