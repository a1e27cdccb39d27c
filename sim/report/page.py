"""The report as one self-contained page: no script, no request, nothing to install."""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from sim.analysis.coverage import HotSpot, SceneAnswer
from sim.analysis.numbers import percent, plain, with_error
from sim.analysis.rows import profiles
from sim.analysis.verdict import CLOSE, INSIDE, NO_TARGET, OUTSIDE
from sim.analysis.zones import ZoneReport
from sim.report.cautions import SHORT, STANDING, cautions
from sim.report.curve import curves
from sim.report.drawn import Drawn
from sim.report.figures import draw_figures
from sim.report.highest import note_beside, value_words
from sim.report.lengths import CENTIMETRES, LengthUnit
from sim.report.page_tables import (
    distance_table,
    energy_table,
    hot_spot_table,
    power_table,
    quantity_tables,
    range_table,
    reading_table,
    row_table,
    zone_table,
)
from sim.report.pictures import Pictures, data_address
from sim.report.rendering import render, safe
from sim.report.wording import peak_words, value_of

# Sign and mood of an outcome: told by shape and word as well as by colour.
MOODS = {INSIDE: ("✓", "good"), OUTSIDE: ("!", "bad"), CLOSE: ("?", "open"), NO_TARGET: ("–", "none")}
VERDICTS = {
    INSIDE: "Yes: every zone with a target is inside it, and no place within reach is over a limit.",
    OUTSIDE: "No: not as it stands.",
    CLOSE: "Too close to tell with this many photons.",
    NO_TARGET: "No zone has a target, so there is nothing to judge. What arrives is below.",
}


def report_page(  # noqa: PLR0913  # most are keywords with a default
    told: SceneAnswer,
    date: str,
    elapsed_s: float | None = None,
    guesses: Sequence[str] = (),
    *,
    unit: LengthUnit = CENTIMETRES,
    pictures: Callable[[], Pictures] | None = None,
    look: Callable[[], None] = lambda: None,
    coming: bool = False,
) -> str:
    """Return the page as HTML.

    Parameters
    ----------
    told : SceneAnswer
    date : str
        Date to print; passed in, so that equal results give equal pages.
    elapsed_s : float, optional [s]
        Time that the run took.
    guesses : sequence of str
        Values that the scene or the library guesses, one sentence each, printed with the assumptions.
    unit : LengthUnit
        That lengths are shown in.
    pictures : callable, optional
        Gives those in three dimensions; it is called last, since another program draws them meanwhile. The page says
        nothing of them where left out.
    look : callable
        Called between one figure and the next; what it raises ends the page.
    coming : bool
        Whether the run is still under way: the page then says where something is not made yet.
    """
    words = _answer(told, date, unit) | _details(told, unit, look)
    return render(
        "report.html",
        **words,
        pictures=None if pictures is None else _pictures(pictures()),
        coming=coming,
        assumptions=[*_assumptions(told, unit), *guesses],
        provenance=_provenance(told, date, elapsed_s),
    )


def _answer(told: SceneAnswer, date: str, unit: LengthUnit) -> dict[str, Any]:
    sign, mood = MOODS[told.outcome]
    return {
        "title": told.result.meta.title or told.result.meta.scene,
        "note": str(told.result.scene.get("note") or ""),
        "date": date,
        "sign": sign,
        "mood": mood,
        "verdict": VERDICTS[told.outcome],
        "verdicts": [*map(_zone_line, told.zones), *map(_spot_line, _spots_beside_zones(told))],
        "short_caution": SHORT,
        "cautions": [line for line in cautions(told, unit) if line != SHORT],
        "standing": STANDING,
        "replicates": told.result.meta.replicates,
    }


def _zone_line(zone: ZoneReport) -> dict[str, str]:
    sign, mood = MOODS[zone.verdict.outcome]
    told_anyway = f"mean UVI {with_error(*value_of(zone.uvi))}, {zone.verdict.words}"
    words = zone.verdict.words if zone.verdict.deciding else told_anyway
    return {"name": zone.name, "role": zone.role, "words": words, "sign": sign, "mood": mood}


def _spots_beside_zones(told: SceneAnswer) -> list[HotSpot]:
    """Return the hot spots that no zone's own verdict tells of."""
    return [spot for spot in told.hot_spots if spot.peak.kind != "zone"]


def _spot_line(spot: HotSpot) -> dict[str, str]:
    sign, mood = MOODS[OUTSIDE if spot.sure else CLOSE]
    over = "is over" if spot.sure else "is perhaps over"
    words = f"UVI {value_words(spot.peak.place)} {over} {plain(spot.limit)}, the limit of {spot.limit_from}"
    return {"name": spot.peak.place.group, "role": "within reach", "words": words, "sign": sign, "mood": mood}


def _details(told: SceneAnswer, unit: LengthUnit, look: Callable[[], None]) -> dict[str, Any]:
    drawn = draw_figures(told, unit, look)
    return {
        "zones": zone_table(told.zones) if told.zones else None,
        "zone_ranges": range_table(told.zones, unit),
        "zone_quantities": quantity_tables(told.zones),
        "power_ranges": power_table(told.zones) if any(zone.uvi_between for zone in told.zones) else None,
        "readings": [
            reading_table(lamp, told.result.meta.replicates, unit) for lamp in told.result.lamps if lamp.readings
        ],
        "gradients": [_gradient_line(told, index, unit) for index in range(len(told.gradients))],
        "highest": _highest(told, unit),
        "hot_spots": hot_spot_table(told, unit) if told.hot_spots else None,
        "no_hot_spots": _no_hot_spots(told),
        "surfaces": row_table("UV index on the surfaces themselves", told.surfaces, unit) if told.surfaces else None,
        "distances": distance_table(curves(told.maps, profiles(told.maps)), unit),
        "sensors": row_table("Sensors", told.sensors, unit) if told.sensors else None,
        "energy": energy_table(told),
        "figures": {name: _shown(figure) for name, figure in vars(drawn).items()},
    }


def _shown(figure: Drawn | tuple[Drawn, ...] | None) -> object:
    return [safe(one) for one in figure] if isinstance(figure, tuple) else safe(figure)


def _pictures(pictures: Pictures) -> dict[str, Any]:
    shown = [{**vars(picture), "address": data_address(picture.png)} for picture in pictures.shown]
    return {"shown": shown, "left_out": pictures.left_out}


def _gradient_line(told: SceneAnswer, index: int, unit: LengthUnit) -> str:
    gradient = told.gradients[index]
    mean, half_width = value_of(gradient.difference)
    changes = "rises" if mean < 0 else "falls"
    clearly = "" if gradient.really_darker or gradient.really_brighter else " (not beyond the error)"
    return (
        f"From {gradient.basking} to refuge {gradient.refuge}, {unit.words(gradient.distance)} apart, the UV index "
        f"{changes} by {with_error(abs(mean), half_width)}{clearly}."
    )


def _highest(told: SceneAnswer, unit: LengthUnit) -> str:
    if told.peak is None:
        return "Nothing in this scene is marked as within reach of an animal."
    place = told.peak.place
    text = f"UV index {value_words(place)}, {peak_words(told.peak, unit)}."
    if not place.settled:
        text += (
            f" Other places read the same within the error; none is above {plain(place.bound)} with 97.5 % confidence."
        )
    return f"{text} {note_beside(told)}".rstrip()


def _no_hot_spots(told: SceneAnswer) -> str:
    if told.limit is None:
        return "No zone sets a highest UV index for the places around it, so hot spots were not looked for there."
    return f"No hot spots: no place within reach reads over {plain(told.limit[0])}, the limit of zone {told.limit[1]}."


def _assumptions(told: SceneAnswer, unit: LengthUnit) -> list[str]:
    lines = [
        f"Lamp {lamp.name}: {plain(lamp.radiant_power)} W between {told.result.edges_nm[0]:g} and "
        f"{told.result.edges_nm[-1]:g} nm{unit.restated(''.join(f'; {note}' for note in lamp.notes))}."
        for lamp in told.result.lamps
    ]
    levels = told.maps.levels
    if levels is not None:
        factors = zip(told.result.lamps, np.asarray(levels, dtype=np.float64), strict=True)
        lines.append(f"Lamps scaled to {', '.join(f'{lamp.name} {percent(float(part))}' for lamp, part in factors)}.")
    lines.append(
        "Exposure zones after Ferguson et al., Zoo Biology 29 (2010) 317-334, with bounds as common practice gives "
        "them: what wild animals were seen to receive, not what is known to be safe or enough."
    )
    lines.append(
        "The UV index weighs light by the erythema curve of human skin (CIE S 007/E:1998), not of a reptile's."
    )
    return lines


def _provenance(told: SceneAnswer, date: str, elapsed_s: float | None) -> list[tuple[str, str]]:
    meta = told.result.meta
    rows = [
        ("Program", f"vivray {meta.version}"),
        ("Scene", meta.scene),
        ("Scene digest", meta.digest),
        ("Seed", str(meta.seed)),
        ("Photons", f"{meta.histories:,}"),
        ("Replicates", str(meta.replicates)),
        ("Bands", f"{len(told.result.edges_nm) - 1}, {told.result.edges_nm[0]:g} to {told.result.edges_nm[-1]:g} nm"),
        ("Date", date),
    ]
    return rows + ([("Traced in", f"{elapsed_s:.1f} s")] if elapsed_s is not None else [])
