"""Sections of a result as planes to draw, with bodies, zones and titles."""

import numpy as np

from sim.analysis.maps import Maps
from sim.analysis.sections import Section, outlines, sections
from sim.report.lengths import LengthUnit
from sim.report.panels import AXES, Mark
from sim.report.section_figure import Plane
from sim.tally.result import Group

NEAR = 0.05
"""A zone is drawn on a level plane at most this far below or above it [m]."""
_FROM = {0: "from the right", 1: "from the front", 2: "from above"}


def section_planes(maps: Maps, unit: LengthUnit) -> list[Plane]:
    """Return the sections of a result, ready to be drawn; those that read nothing are left out.

    Parameters
    ----------
    maps : Maps
    unit : LengthUnit
        To draw them in.
    """
    return [_plane(maps, section, unit) for section in sections(maps) if np.nanmax(section.mean, initial=0.0) > 0.0]


def _plane(maps: Maps, section: Section, unit: LengthUnit) -> Plane:
    first, second = section.axes
    across, up = ((unit.of(low), unit.of(high)) for low, high in (section.across, section.up))
    zones = (group for group in maps.result.of_kind("zone") if group.shape != (0, 0))
    marks = (_mark(group, section, unit) for group in zones)
    return Plane(
        f"{AXES[section.axis]} {unit.words(section.at)}, {_FROM[section.axis]}",
        (AXES[first], AXES[second]),
        across,
        up,
        section.mean,
        section.se,
        unit.per_metre * outlines(maps.result.geometry, section.axis, section.at),
        tuple(mark for mark in marks if mark is not None),
    )


def _mark(group: Group, section: Section, unit: LengthUnit) -> Mark | None:
    """Return the outline of a level zone on a level plane near it, or the line in which it cuts an upright one."""
    corners = np.array(group.origin) + np.array([np.zeros(3), group.edge_u, np.add(group.edge_u, group.edge_v)])
    low, high = corners.min(axis=0), corners.max(axis=0)
    slack = NEAR if section.axis == 2 else 0.0
    if not low[section.axis] - slack <= section.at <= high[section.axis] + slack:
        return None
    sides = [(unit.of(float(low[axis])), unit.of(float(high[axis]))) for axis in section.axes]
    return Mark(group.name, sides[0], sides[1])
