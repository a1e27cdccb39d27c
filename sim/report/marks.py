"""Zones and lamps outlined on the maps, for finding one's way."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from sim.report.lengths import CENTIMETRES, LengthUnit
from sim.report.panels import Mark, Panel
from sim.tally.result import Result

SAME_LEVEL = 0.1
"""A zone is outlined on a map at most this far below or above it [m]."""
SLACK = 1e-3
"""An outline may stand out of a panel by this [m]."""


def marked(panels: Sequence[Panel], zones: Sequence[Panel], result: Result) -> list[Panel]:
    """Return level panels with the zones near their height and the lamps above outlined.

    Parameters
    ----------
    panels, zones : sequence of Panel
    result : Result
        Its geometry tells where the lamps are.
    """
    lamps = list(_lamps(result, panels[0].unit if panels else CENTIMETRES))
    return [
        panel
        if panel.level is None
        else replace(panel, marks=(*_lamps_above(panel, lamps), *_zones_near(panel, panel.level, zones)))
        for panel in panels
    ]


def _lamps(result: Result, unit: LengthUnit) -> Iterator[tuple[Mark, float]]:
    """Yield the outline of each lamp seen from above, and its lowest height [unit]."""
    geometry = result.geometry
    for lamp in result.lamps:
        if lamp.name in geometry.names:
            faces = geometry.faces[geometry.face_surface == geometry.names.index(lamp.name)]
            corners = unit.per_metre * geometry.vertices[faces.ravel()]
            if len(corners):
                low, high = corners.min(axis=0), corners.max(axis=0)
                outline = Mark(lamp.name, (float(low[0]), float(high[0])), (float(low[1]), float(high[1])))
                yield outline, float(low[2])


def _lamps_above(panel: Panel, lamps: Sequence[tuple[Mark, float]]) -> list[Mark]:
    return [mark for mark, height in lamps if panel.level is not None and height > panel.level and _inside(mark, panel)]


def _zones_near(panel: Panel, level: float, zones: Sequence[Panel]) -> list[Mark]:
    near = (zone for zone in zones if zone.level is not None and abs(zone.level - level) <= panel.unit.of(SAME_LEVEL))
    marks = (Mark(zone.name, zone.across, zone.up) for zone in near)
    return [mark for mark in marks if _inside(mark, panel)]


def _inside(mark: Mark, panel: Panel) -> bool:
    """Whether an outline lies on the panel, give or take a little."""
    slack = panel.unit.of(SLACK)
    pairs = ((mark.across, panel.across), (mark.up, panel.up))
    return all(inner[0] >= outer[0] - slack and inner[1] <= outer[1] + slack for inner, outer in pairs)
