"""Each bench runs on its smallest input and prints what it promises; the figures themselves mean nothing here."""

import importlib.util
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]

needs_embreex = pytest.mark.skipif(importlib.util.find_spec("embreex") is None, reason="embreex is not installed")


def bench(name: str, *arguments: str) -> str:
    """Run a bench as a script and return what it prints."""
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    command = [sys.executable, str(ROOT / "bench" / f"{name}.py"), "--quick", *arguments]
    child = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    assert (0, "") == (child.returncode, child.stderr)
    return child.stdout


def as_json(name: str, *arguments: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(bench(name, "--json", *arguments))
    return found


@needs_embreex
@pytest.mark.parametrize("kind", ["lamp", "path"])
def test_rays(kind: str) -> None:
    rows = as_json("rays", "--rays", kind)["closest_hit"]
    assert [12, 2012] == [row["triangles"] for row in rows]
    for row in rows:
        rates = ("vivray_mrays_s", "embree_native_mrays_s", "embreex_mrays_s", "ratio_native", "ratio_embreex")
        rates += ("vivray_one_by_one_mrays_s", "ratio_native_one_by_one")
        assert min(row[key] for key in rates) > 0.0
        # A race counts only where both find the same hits; single precision misses a few at the rims of leaves.
        assert row["same_hit"] > 0.99


@needs_embreex
def test_rays_as_a_table() -> None:
    lines = bench("rays").splitlines()
    assert [12, 2012] == [int(line.split()[0]) for line in lines[2:]]


@needs_embreex
def test_leaks() -> None:
    rows = as_json("rays", "--leaks", "5000")["leaks"]
    assert [(12, "random"), (12, "edges"), (10_800, "random"), (10_800, "edges")] == [
        (row["triangles"], row["aim"]) for row in rows
    ]
    assert [0, 0, 0, 0] == [row["vivray_lost"] for row in rows]
    # The fast mode of another tracer does lose rays that aim at edges, so the count counts.
    assert sum(row["native_lost"] for row in rows) > 0


@needs_embreex
def test_histories() -> None:
    found = as_json("histories")["histories"]
    assert found["segments_per_history"] > 1.0
    assert found["ratio"] == pytest.approx(
        found["vivray_mhistories_s"] / found["embree_traversal_mhistories_s"], rel=0.5
    )


@needs_embreex
def test_scale() -> None:
    rows = as_json("scale")["scale"]
    assert {"triangles", "cuts", "photons", "files", "lamps", "receivers", "bands"} == {row["what"] for row in rows}
    assert [2012, 2012, 18_012, 2780, 18_780, 320, 1, 4] == [row["count"] for row in rows[:8]]
    assert all(value > 0.0 for row in rows for key, value in row.items() if key != "what")


@pytest.mark.skipif(importlib.util.find_spec("mitsuba") is None, reason="Mitsuba is not installed")
@pytest.mark.slow
def test_convergence() -> None:
    (row,) = as_json("convergence", "--case", "box, one wall a mirror")["cases"]
    for one, other in (("mitsuba_s", "ratio_mitsuba"), ("mitsuba_stratified_s", "ratio_mitsuba_stratified")):
        assert row[other] == pytest.approx(row[one] / row["vivray_s"])
    assert row["share_of_plain"] == pytest.approx(row["vivray_s"] / row["plain_photons_s"])
    # All answer the same question, within a few errors of few photons.
    means = row["means_W_m2"]
    assert ["vivray", "plain photons", "mitsuba", "mitsuba stratified"] == list(means)
    assert [mean for mean, _ in means.values()] == pytest.approx([means["vivray"][0]] * 4, rel=0.05)


def test_photons() -> None:
    found = as_json("photons")["photons"]
    stages = {row["stage"]: row["seconds"] for row in found["stages"]}
    assert {"read", "check", "compile", "lamp readings", "photons", "paths", "report"} <= stages.keys()
    assert found["seconds"] == pytest.approx(sum(stages.values()))
    assert stages["between"] < 0.5 * found["seconds"]
    assert found["histories_per_s_photons_alone"] > found["histories_per_s_whole_run"] > 0.0
    assert sum(row["share"] for row in found["stages"]) == pytest.approx(1.0)


def test_command() -> None:
    (row,) = as_json("command")["command"]
    stages = row["stages"]
    told = {"start of Python", "imports", "check", "compile", "photons", "sections", "assemble", "save", "figures"}
    assert told <= stages.keys()
    assert min(stages.values()) >= 0.0
    # From the start of the process to its end, nothing left out.
    assert row["seconds"] == pytest.approx(sum(stages.values()), abs=0.01)
    assert stages["imports"] > stages["check"]
    assert "trace_photons" in row["kernels"]
    assert 0.0 < row["watched"]["tables"] < row["watched"]["report"]


def test_startup() -> None:
    rows = {row["what"]: row["seconds"] for row in as_json("startup")["startup"]}
    assert ["python alone", "--help", "check", "smallest run, kernels compiled"] == list(rows)
    assert 0.0 < rows["python alone"] < rows["--help"] < rows["smallest run, kernels compiled"]


def test_dimming() -> None:
    found = as_json("dimming")["dimming"]
    assert (500, 4, 64) == (found["receivers"], found["lamps"], found["replicates"])
    assert max(found["largest_difference_mean"], found["largest_difference_se"]) < 1e-9
    assert 0.0 < found["median_s"] <= found["longest_s"]
    assert found["ratio_to_limit"] == pytest.approx(found["median_s"] / 0.1)
