"""``vivray fixture`` through the command line: rows, JSON, files and refusals."""

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from sim.cli import vivray

pytestmark = pytest.mark.system

ROOT = Path(__file__).resolve().parents[2]
SCENE = str(ROOT / "scenes" / "tube-reflectors.toml")
QUICK = ("--histories", "6400", "--at", "30 cm", "--quiet")


def told(*arguments: str) -> Result:
    return CliRunner().invoke(vivray, ["fixture", *arguments], env={"COLUMNS": "200"})


def keys_of(value: object) -> set[str]:
    if isinstance(value, dict):
        return {*value, *(key for inner in value.values() for key in keys_of(inner))}
    return {key for inner in value for key in keys_of(inner)} if isinstance(value, list) else set()


@pytest.fixture(scope="module")
def summary() -> dict[str, Any]:
    result = told(
        SCENE, "--lamp", "flat", "--lamp", "bare", "--finish", "black", "--finish", "ptfe-bulk", *QUICK, "--json"
    )
    assert result.exit_code == 0, result.output
    whole = json.loads(result.stdout)
    assert isinstance(whole, dict)
    return whole


def test_one_row_a_lamp_and_finish(summary: dict[str, Any]) -> None:
    rows = [(item["lamp"], item["finish"]) for item in summary["fixtures"]]
    assert [("bare", None), ("flat", "black"), ("flat", "ptfe-bulk")] == rows
    for item in summary["fixtures"]:
        shares = item["shares"]["uvi"]
        parts = [shares[key] for key in ("leaves", "lost", "unfinished")]
        assert sum(parts) == pytest.approx(1.0, abs=1e-12)
        assert shares["lost"] == pytest.approx(sum(part["share"] for part in shares["lost_in"]), abs=1e-12)
        assert shares["leaves"] == pytest.approx(shares["leaves_ahead"] + shares["leaves_behind"], abs=1e-12)


def test_power_times_index_per_watt_is_the_index(summary: dict[str, Any]) -> None:
    for item in summary["fixtures"]:
        (place,) = item["distances"]
        assert place["uvi"] == pytest.approx(item["radiant_power_W"] * place["uvi_per_watt"], rel=1e-9)
        assert (0.3, 2.0) == (place["distance_m"], item["radiant_power_W"])


def test_every_key_of_the_json_object_is_explained(summary: dict[str, Any]) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(\w+)`", readme))
    stems = {re.sub(r"_(se|ci95)$", "", key) for key in keys_of(summary)}
    assert set() == stems - named - {re.sub(r"_(m|W)$", "", name) for name in named}


def test_tables_and_files(tmp_path: Path) -> None:
    result = told(SCENE, "--lamp", "involute", *QUICK, "--out", str(tmp_path))
    assert result.exit_code == 0, result.output
    for words in ("UVI at 30 cm", "By distance", "Where it is lost", "involute mirror"):
        assert words in result.stdout
    for words in ("in mirror, %", "half of a 95 % interval"):
        assert words in result.stdout
    whole = json.loads((tmp_path / "fixtures.json").read_text(encoding="utf-8"))
    (row,) = csv.DictReader((tmp_path / "fixtures.csv").read_text(encoding="utf-8").splitlines())
    assert float(row["uvi"]) == whole["fixtures"][0]["distances"][0]["uvi"]
    assert float(row["lost_in_lamp"]) == whole["fixtures"][0]["shares"]["uvi"]["lost_in_lamp"]
    page = (tmp_path / "fixtures.html").read_text(encoding="utf-8")
    for words in (
        "<h1>involute</h1>",
        ">In numbers</h2>",
        "where the light of the lamp goes",
        "lost in involute mirror",
        "across the lamp",
    ):
        assert words in page
    assert ("sheet: " in result.stdout, 3) == (True, page.count("<svg"))
    again = told(SCENE, "--lamp", "involute", *QUICK, "--out", str(tmp_path))
    assert again.exit_code == 2
    assert "fixtures.json already" in again.output
    assert told(SCENE, "--lamp", "bare", *QUICK, "--out", str(tmp_path), "--force").exit_code == 0


def test_lamps_of_one_name_in_two_scenes_are_told_apart_and_no_number_is_broken(tmp_path: Path) -> None:
    text = Path(SCENE).read_text(encoding="utf-8")
    for name, power in (("weak", "1 W"), ("strong", "3 W")):
        (tmp_path / f"{name}.toml").write_text(text.replace('radiant = "2 W"', f'radiant = "{power}"'), "utf-8")
    scenes = [str(tmp_path / f"{name}.toml") for name in ("weak", "strong")]
    arguments = [*scenes, "--lamp", "flat", "--finish", "ptfe-bulk", *QUICK, "--out", str(tmp_path / "out")]
    result = CliRunner().invoke(vivray, ["fixture", *arguments], env={"COLUMNS": "80"})
    assert result.exit_code == 0, result.output
    assert ("\nflat of weak.toml" in result.stdout, "\nflat of strong.toml" in result.stdout) == (True, True)
    tables = result.stdout.partition("Each lamp with")[0]
    assert "\nWhere the light of the fixtures goes" in tables
    assert tables.count("±") == len(re.findall(r"\d ± \d", tables)) >= 12
    page = (tmp_path / "out" / "fixtures.html").read_text(encoding="utf-8")
    for name in ("weak", "strong"):
        assert f">flat of {name}.toml, reflectors of ptfe-bulk</h2>" in page


def test_inches_are_shown_and_files_stay_in_metres(tmp_path: Path) -> None:
    arguments = (SCENE, "--lamp", "flat", "--histories", "6400", "--quiet", "--units", "inch", "--out", str(tmp_path))
    result = told(*arguments)
    assert result.exit_code == 0, result.output
    assert ("UVI at 12 in" in result.stdout, " cm" in result.stdout) == (True, False)
    whole = json.loads((tmp_path / "fixtures.json").read_text(encoding="utf-8"))
    metres = [place["distance_m"] for place in whole["fixtures"][0]["distances"]]
    assert [4.0, 8.0, 12.0, 16.0, 20.0, 24.0] == [pytest.approx(length / 0.0254, rel=1e-12) for length in metres]
    page = (tmp_path / "fixtures.html").read_text(encoding="utf-8").partition("</style>")[2].replace("µW/cm²", "")
    assert ("Distance, in" in page, page.count(" cm"), ", cm" in page) == (True, 0, False)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--lamp", "tub"), "no lamp is called 'tub'; there are: bare, flat,"),
        (("--finish", "chrome"), "nothing is called 'chrome'; name a law of the scene or a material of the library"),
        (("--at", "5 mm"), "0.5 cm lies within lamp 'bare', which reaches 0.8 cm from its middle"),
        (("--at", "30"), "length needs a unit: write '30 cm'"),
        (("--at", "0 cm"), "'0 cm' is not above zero"),
    ],
)
def test_refusals(arguments: tuple[str, ...], words: str) -> None:
    result = told(SCENE, *arguments)
    assert result.exit_code == 2
    assert words in " ".join(result.output.split())
