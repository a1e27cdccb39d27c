"""The answer in the terminal."""

import io
import subprocess
import sys
from pathlib import Path

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


def test_tables_and_summary_do_without_drawing() -> None:
    code = "import sys, sim.report.tables, sim.report.summary, sim.report.write; print('matplotlib' in sys.modules)"
    child = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert child.stdout.strip() == "False"
