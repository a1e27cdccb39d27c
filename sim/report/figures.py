"""All figures of a report, each with a caption and a sentence for those who cannot see it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from sim.analysis.coverage import SceneAnswer, reachable_groups
from sim.analysis.extremes import Place, highest_place
from sim.analysis.rows import profiles
from sim.report.curve import Curve, curves
from sim.report.drawing import figure_style, inline_svg
from sim.report.drawn import Drawn
from sim.report.highest import cell_words, value_words
from sim.report.lengths import CENTIMETRES, LengthUnit
from sim.report.map_figure import Sheet, map_figure, rows_sheet, split_sheet
from sim.report.map_scale import MapScale, map_scale
from sim.report.marks import marked
from sim.report.panels import Panel, has_grid, panel
from sim.report.profile_figure import profile_figure
from sim.report.section_figure import Plane, section_figure
from sim.report.section_planes import section_planes
from sim.report.spectrum_figure import spectrum_figure
from sim.report.unfolded import WALLS, box_walls, unfolded_sheet
from sim.report.wording import place_words
from sim.tally.result import Group

WIDTH = 8.6
"""Of the maps [in]."""
PAGE = 8.0
"""Tallest sheet of maps [in]."""
MOST_OTHERS = 24
"""At most so many surfaces besides the walls are drawn, brightest first; the table holds them all."""
DARK = 0.02
"""Those darker than this share of the brightest of them are not drawn either."""

REACH_NAME, REACH = "reach", "Where the animal's back can be"
BEYOND = "Zones out of the animal's reach, with colours of their own"

T = TypeVar("T")


@dataclass(frozen=True)
class Figures:
    """The figures by the part of the page that they belong to."""

    reach: Drawn | None
    beyond: Drawn | None
    sections: tuple[Drawn, ...]
    walls: Drawn | None
    others: tuple[Drawn, ...]
    profile: Drawn | None
    spectrum: Drawn | None


def draw_figures(told: SceneAnswer, unit: LengthUnit = CENTIMETRES, look: Callable[[], None] = lambda: None) -> Figures:
    """Return every figure that the result has something to show in.

    Parameters
    ----------
    told : SceneAnswer
    unit : LengthUnit
        That lengths are drawn in.
    look : callable
        Called after each kind of figure; what it raises ends the drawing.
    """

    def drawn(figure: T) -> T:
        look()
        return figure

    maps = told.maps
    surfaces, omitted = _surface_panels(told, unit)
    walls = box_walls(surfaces)
    others = [item for item in surfaces if walls is None or item.name not in WALLS]
    zones = _panels(told, maps.result.of_kind("zone"), unit)
    within = {(group.kind, group.name) for group in reachable_groups(maps.result)}
    over = marked(_panels(told, maps.result.of_kind("reach"), unit), zones, maps.result)
    reach = [item for item in (*over, *zones) if (item.group.kind, item.name) in within]
    beyond = [item for item in zones if item not in reach]
    scale = map_scale(reach, surfaces)
    with figure_style():
        return Figures(
            reach=drawn(_in_rows(told, reach, scale, REACH_NAME, REACH)) if reach else None,
            beyond=drawn(_in_rows(told, beyond, map_scale(beyond, []), "beyond", BEYOND)) if beyond else None,
            sections=drawn(_sections(told, unit)),
            walls=drawn(_walls(told, walls, scale)),
            others=drawn(_others(told, others, omitted, scale)),
            profile=drawn(_profile(told, unit)),
            spectrum=drawn(_spectrum(told)),
        )


def _panels(told: SceneAnswer, groups: Sequence[Group], unit: LengthUnit) -> list[Panel]:
    return [panel(told.maps, group, unit) for group in groups if has_grid(group)]


def _surface_panels(told: SceneAnswer, unit: LengthUnit) -> tuple[list[Panel], int]:
    rows = [row for row in told.surfaces if has_grid(row.group)]
    others = sorted((row for row in rows if row.name not in WALLS), key=lambda row: -float(row.uvi.mean))
    least = DARK * float(others[0].uvi.mean) if others else 0.0
    kept = {row.name for row in others[:MOST_OTHERS] if float(row.uvi.mean) >= least}
    groups = [row.group for row in rows if row.name in WALLS or row.name in kept]
    return _panels(told, groups, unit), len(others) - len(kept)


def _others_caption(omitted: int) -> str:
    text = "The other flat surfaces, to one scale; curved and imported surfaces are in the table"
    return f"{text}, as are {omitted} darker ones" if omitted else text


def _others(told: SceneAnswer, panels: Sequence[Panel], omitted: int, scale: MapScale) -> tuple[Drawn, ...]:
    """Return the other surfaces on as many sheets as it takes for each to fit a printed page."""
    sheets = split_sheet(panels, WIDTH, PAGE)
    captions = ["More surfaces"] * (len(sheets) - 1) + [_others_caption(omitted)]
    return tuple(
        _in_rows(told, sheet, scale, f"others-{number}", caption)
        for number, (sheet, caption) in enumerate(zip(sheets, captions, strict=False), start=1)
    )


def _walls(told: SceneAnswer, walls: dict[str, Panel] | None, scale: MapScale) -> Drawn | None:
    if walls is None:
        return None
    sheet = unfolded_sheet(walls, WIDTH)
    return _maps(told, sheet, list(walls.values()), scale, ("walls", "The box unfolded, seen from inside"))


def _in_rows(told: SceneAnswer, panels: Sequence[Panel], scale: MapScale, name: str, caption: str) -> Drawn:
    return _maps(told, rows_sheet(panels, WIDTH), panels, scale, (name, caption))


def _maps(told: SceneAnswer, sheet: Sheet, panels: Sequence[Panel], scale: MapScale, named: tuple[str, str]) -> Drawn:
    """Return panels on a sheet, with a ring on the highest cell and the value that tables tell of that place."""
    name, caption = named
    group = max(panels, key=lambda item: item.highest[2]).group
    place = _highest_of(told, group)
    cell = cell_words(place)
    where = place_words(place, group.kind, panels[0].unit)
    elsewhere = _higher_without_map(told, panels) if name == REACH_NAME else ""
    which = "highest of these" if elsewhere else "highest"
    words = "; ".join(part for part in (f"{which} {value_words(place)}, {where}", cell, elsewhere) if part)
    label = f"Maps of the UV index on {', '.join(item.name for item in panels)}; {words}."
    drawn = inline_svg(map_figure(sheet, scale, value_words(place)), name)
    return Drawn(name, drawn, label, f"{caption}. Ring: {words}.")


def _highest_of(told: SceneAnswer, group: Group) -> Place:
    """Return the highest place of a group; where it holds the highest within reach, that one."""
    if told.peak is not None and group.first <= told.peak.place.row < group.first + group.count:
        return told.peak.place
    return highest_place(told.result, (group,), told.maps.uvi)


def _higher_without_map(told: SceneAnswer, panels: Sequence[Panel]) -> str:
    """Return where the highest place within reach is, if it is on none of the panels."""
    if told.peak is None or told.peak.place.group in {item.name for item in panels}:
        return ""
    place = told.peak.place
    where = place_words(place, told.peak.kind, panels[0].unit)
    return f"the highest within reach, {value_words(place)}, {where}, is on no map"


def _sections(told: SceneAnswer, unit: LengthUnit) -> tuple[Drawn, ...]:
    """Return upright sections and level ones, each on a sheet."""
    planes = section_planes(told.maps, unit)
    sheets = {
        "Upright, through the middle of the lamps": [plane for plane in planes if plane.labels[1] == "z"],
        "Level, where the animal's back is": [plane for plane in planes if plane.labels[1] != "z"],
    }
    caption = (
        "UV index of a meter that faces up. Contours carry their UV index, and each step of colour lies between two of "
        "them; a contour ends where noise would draw it. A highest cell is the luckiest of many, so it reads too high. "
        "Thin lines are what the plane cuts, dashed ones zones."
    )
    drawn, highest = [], max((plane.highest[2] for plane in planes), default=0.0)
    for index, (title, sheet) in enumerate(sheets.items()):
        if sheet:
            name, words = f"sections-{index + 1}", "; ".join(_plane_line(plane, unit) for plane in sheet)
            svg = inline_svg(section_figure(sheet, unit, highest=highest), name)
            drawn.append(Drawn(name, svg, f"Sections. {title}: {words}.", f"{title}: {caption}"))
    return tuple(drawn)


def _plane_line(plane: Plane, unit: LengthUnit) -> str:
    across, up, value = plane.highest
    where = f"{plane.labels[0]} {across:.1f}, {plane.labels[1]} {up:.1f} {unit.symbol}"
    return f"{plane.title}, highest cell {value:.2f} at {where}"


def _profile(told: SceneAnswer, unit: LengthUnit) -> Drawn | None:
    shown = curves(told.maps, profiles(told.maps))
    if not shown:
        return None
    caption = (
        "From the middle of each lamp the way it faces, on a receiver that looks at it; the band around a line is its "
        "95 % interval. Grey bands are the exposure zones 1 to 4."
    )
    label = f"UV index against distance. {' '.join(_curve_line(curve, unit) for curve in shown)}"
    return Drawn("profile", inline_svg(profile_figure(shown, unit), "profile"), label, caption)


def _curve_line(curve: Curve, unit: LengthUnit) -> str:
    near, far = (f"{curve.uvi.mean[at]:.2f} at {unit.words(curve.distance[at])}" for at in (0, -1))
    return f"Under {curve.lamp}: {near}, {far}."


def _spectrum(told: SceneAnswer) -> Drawn | None:
    if not told.result.lamps:
        return None
    figure = spectrum_figure(told.result.lamps, told.result.edges_nm)
    names = ", ".join(lamp.name for lamp in told.result.lamps)
    label = f"Spectra of {names} from {told.result.edges_nm[0]:g} to {told.result.edges_nm[-1]:g} nm."
    caption = (
        "Top: what each lamp sends out. Bottom: how much a wavelength counts for the UV index "
        "(CIE S 007/E:1998); a tenfold step takes about 11 nm."
    )
    return Drawn("spectrum", inline_svg(figure, "spectrum"), label, caption)
