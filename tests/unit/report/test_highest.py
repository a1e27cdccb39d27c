"""The highest place in words: one value wherever it is told, and a note where two are."""

import re
from dataclasses import replace

from sim.analysis.coverage import SceneAnswer, answer
from sim.analysis.extremes import Place
from sim.report.figures import draw_figures
from sim.report.highest import cell_words, note_beside, value_words
from sim.report.summary import run_summary
from tests.support.synthetic_result import make_result, terrarium, terrarium_patches, uniform

PLACE = Place(1.975, 0.129, 0.258, 2.319, 3.0, settled=False, row=3, group="ledge", position=(0.9, 0.25, 0.3))


def noisy() -> SceneAnswer:
    """An even field: all cells are the highest, and the noise alone picks."""
    return answer(make_result(terrarium_patches(), uniform(2.0), noise=1.0))


def test_a_cell_is_told_where_it_is_drawn_otherwise() -> None:
    assert value_words(PLACE) == "1.98 ± 0.26"
    assert "2.32" in cell_words(PLACE)
    assert not cell_words(replace(PLACE, on_map=PLACE.value))


def test_a_ring_on_a_map_carries_the_value_that_words_and_tables_tell() -> None:
    told = noisy()
    assert told.peak is not None
    peak, figures = told.peak.place, draw_figures(told)
    assert figures.reach is not None
    assert f">{value_words(peak)}<" in figures.reach.svg
    assert value_words(peak) in figures.reach.caption
    assert cell_words(peak) in figures.reach.caption != ""
    assert figures.walls is not None
    ringed = re.search(r"highest ([\d.]+ ± [\d.]+), on (\w+)", figures.walls.caption)
    assert ringed is not None
    row = next(row for row in told.surfaces if row.name == ringed[2])
    assert ringed[1] == value_words(row.high)


def test_two_values_of_one_place_are_explained() -> None:
    told = noisy()
    assert told.peak is not None
    zone = max((zone for zone in told.zones if zone.reachable), key=lambda zone: zone.high.value)
    errors = max(zone.high.half_width, told.peak.place.half_width)
    near = replace(zone, high=replace(zone.high, value=told.peak.place.value + 0.9 * errors))
    assert note_beside(replace(told, zones=(near,), hot_spots=())).endswith("less than the larger of their errors.")
    raised = replace(zone, high=replace(zone.high, value=told.peak.place.value + 1.1 * errors))
    note = note_beside(replace(told, zones=(raised,), hot_spots=()))
    assert f"picked among its own, zone {zone.name} has {value_words(raised.high)}." in note
    assert "can miss the brightest place" in note
    assert "go by the higher" in note
    assert run_summary(told.result)["highest_reachable"]["note"] == (note_beside(told) or None)


def test_there_is_no_note_where_one_value_is_told() -> None:
    told = noisy()
    assert told.peak is not None
    same = [replace(zone, high=told.peak.place) for zone in told.zones]
    lower = [replace(zone, high=replace(zone.high, value=0.5, row=-1)) for zone in told.zones]
    beyond = [replace(zone, role="out of reach", high=replace(zone.high, value=9.0)) for zone in told.zones]
    for zones in (same, lower, beyond):
        assert not note_beside(replace(told, zones=tuple(zones), hot_spots=()))
    assert not note_beside(replace(told, peak=None))


def test_zones_out_of_reach_are_not_drawn_where_the_back_can_be() -> None:
    result = terrarium()
    groups = [
        replace(group, detail={**(group.detail or {}), "role": "out of reach"}) if group.name == "basking" else group
        for group in result.groups
    ]
    figures = draw_figures(answer(replace(result, groups=tuple(groups))))
    assert figures.reach is not None
    assert figures.beyond is not None
    assert draw_figures(answer(result)).beyond is None
    assert ("on basking" in figures.reach.label, ", basking" in figures.reach.label) == (False, False)
    assert "the UV index on basking; highest" in figures.beyond.label


def test_a_ring_is_not_taken_for_the_highest_within_reach_where_that_has_no_map() -> None:
    told = answer(terrarium())
    assert told.peak is not None
    branch = replace(
        told.peak, kind="reach", place=replace(told.peak.place, group="branch", row=-1, value=9.5, half_width=0.1)
    )
    shown, beside = draw_figures(told).reach, draw_figures(replace(told, peak=branch)).reach
    assert shown is not None
    assert beside is not None
    assert "is on no map" not in shown.caption
    assert "Ring: highest of these" in beside.caption
    assert "the highest within reach, 9.50 ± 0.10, over branch" in beside.caption
