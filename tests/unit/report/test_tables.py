"""The answer in the terminal."""

import io
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from sim.analysis.coverage import answer
from sim.report.tables import terminal_tables
from sim.tally.result import Result
from tests.support.synthetic_result import box_patches, make_result, terrarium, terrarium_patches, uniform

ROOT = Path(__file__).resolve().parents[3]


def printed(result: Result, width: int = 200) -> str:
    stream = io.StringIO()
    Console(file=stream, width=width).print(terminal_tables(answer(result)))
    return stream.getvalue()


def test_zones_verdicts_and_the_highest_place() -> None:
    text = printed(terrarium())
    assert "+ basking: inside the target" in text
    assert "! hide: outside the target: the mean UVI" in text
    assert "Highest UVI within reach: 2.2" in text
    assert "cm from the middle of tube" in text
    assert "Measure with a UV index meter" in text


def test_a_point_has_no_highest_and_lowest_beside_its_value() -> None:
    lines = {line.split("  ")[0]: line for line in printed(terrarium()).partition("Sensors")[2].splitlines()}
    assert [2, 4] == [lines[name].count("±") for name in ("meter", "back height")]


def test_hot_spots_are_told() -> None:
    text = printed(make_result(terrarium_patches(), uniform(9.0)))
    # Floor and ledge, the basking zone, and the refuge by the limit of the animal that basks.
    assert text.count("! hot spot, over 7.4 (basking): 9.") == 4


def test_without_zones_and_sensors_the_surfaces_stand_in() -> None:
    text = printed(make_result(box_patches(), uniform(1.0)))
    assert "Surfaces" in text
    assert "ceiling" in text
    assert "Nothing is within reach" in text


def test_names_in_brackets_are_no_markup() -> None:
    patches = box_patches()
    patches[0] = type(patches[0])(**vars(patches[0]) | {"name": "[red]floor[/red]"})
    assert "[red]floor[/red]" in printed(make_result(patches, uniform(1.0)))


def test_narrow_terminal_keeps_every_figure() -> None:
    wide, narrow = printed(terrarium()), printed(terrarium(), width=60)
    squeezed = "".join(narrow.split())
    assert all("".join(part.split()) in squeezed for part in ("inside the target", "outside the target"))
    assert "38.7" in wide


def test_names_break_before_numbers_do() -> None:
    patches = box_patches()
    patches[0] = type(patches[0])(**vars(patches[0]) | {"name": "the floor of a box of a name that takes much room"})
    result = make_result(patches, uniform(1.0))
    table = printed(result, width=80).partition("Nothing is within reach")[0]
    rows = [line for line in table.splitlines() if "±" in line]
    assert [4] * len(patches) == [len(re.findall(r"\d ± \d", row)) for row in rows]
    assert "the floor" in table
    assert "takes much room" not in table
    assert max(len(line) for line in table.splitlines()) <= 80


def test_what_is_open_of_the_lamps_power_has_a_table_of_its_own() -> None:
    result = terrarium()
    lamps = tuple(replace(lamp, power_range=(0.5, 2.0), range_from="a guess") for lamp in result.lamps)
    table = printed(replace(result, lamps=lamps), width=80).partition("lamps weak to strong")[2]
    rows = {line.split("  ")[0]: line.split() for line in table.splitlines()[2:4]}
    assert ["basking", "hide"] == list(rows)
    for name, mean, _, _, low, _, _, _, high, _, _ in rows.values():
        assert name in printed(result)
        assert (0.5, 2.0) == pytest.approx((float(low) / float(mean), float(high) / float(mean)), rel=0.02)


def test_numbers_of_zones_stay_whole_in_a_narrow_terminal() -> None:
    patches = [
        type(patch)(**vars(patch) | {"detail": patch.detail | {"role": "out of reach"}})
        if patch.kind == "zone" and patch.detail
        else patch
        for patch in terrarium_patches()
    ]
    table = printed(make_result(patches, uniform(1.0)), width=80).partition("Sensors")[0]
    rows = [line for line in table.splitlines() if "  out of" in line]
    assert [True, True] == [len(re.findall(r"\d ± \d", row)) >= 3 for row in rows]


def test_tables_and_summary_do_without_drawing() -> None:
    code = "import sys, sim.report.tables, sim.report.summary, sim.report.write; print('matplotlib' in sys.modules)"
    child = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert child.stdout.strip() == "False"
