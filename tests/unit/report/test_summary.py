"""The JSON object that other programs read."""

import json
import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from sim.analysis.maps import quantity
from sim.report.summary import run_summary
from tests.support.synthetic_result import box_patches, make_result, terrarium, terrarium_patches, uniform

Json = dict[str, Any]

PROMISED = {
    "": {"format", "scene", "seed", "histories", "elapsed_s", "lamps", "energy", "surfaces", "sensors", "zones"},
    "lamps": {"name", "radiant_power_W"},
    "surfaces": {"name", "area_m2", "irradiance_W_m2", "irradiance_se", "uvi", "uvi_se", "uvi_min", "uvi_max"},
    "sensors": {"name", "irradiance_W_m2", "irradiance_se", "uvi", "uvi_se"},
    "zones": {"name", "role", "uvi_mean", "uvi_se", "uvi_min", "uvi_max", "covered_share", "verdict"},
}
"""What the README promises to be there."""


@pytest.fixture(scope="module")
def summary() -> Json:
    return run_summary(terrarium(), 12.5)


def test_promised_keys_are_there(summary: Json) -> None:
    assert PROMISED[""] - summary.keys() == set()
    assert {"emitted_W", "absorbed_W", "escaped_W"} - summary["energy"].keys() == set()
    for part in ("lamps", "surfaces", "sensors", "zones"):
        for row in summary[part]:
            assert PROMISED[part] - row.keys() == set()


def test_head(summary: Json) -> None:
    head = {key: summary[key] for key in ("format", "scene", "seed", "histories", "elapsed_s", "replicates")}
    expected = {"scene": "box.toml", "seed": 1, "histories": 2_000_000, "elapsed_s": 12.5, "replicates": 64}
    assert {"format": 1} | expected == head


def test_surface_means_are_area_means() -> None:
    result = terrarium(noise=0.2)
    row = next(row for row in run_summary(result)["surfaces"] if row["name"] == "floor")
    group = result.group("surface", "floor")
    means = quantity(result, "uvi")[:, group.rows].mean(axis=1)
    assert row["uvi"] == pytest.approx(means.mean())
    assert row["uvi_se"] == pytest.approx(means.std(ddof=1) / math.sqrt(len(means)))
    assert row["area_m2"] == pytest.approx(0.72)
    assert row["uvi_min"] <= row["uvi"] <= row["uvi_max"]


def test_ranges_hold_the_mean_whatever_the_noise() -> None:
    for seed in range(20):
        rows = run_summary(make_result(box_patches(), uniform(1.0), noise=1.0, replicates=8, seed=seed))["surfaces"]
        assert all(row["uvi_min"] <= row["uvi"] <= row["uvi_max"] for row in rows)


def test_energy_adds_up(summary: Json) -> None:
    energy = summary["energy"]
    parts = energy["absorbed_W"] + energy["escaped_W"] + energy["unfinished_W"]
    assert parts == pytest.approx(energy["emitted_W"])
    assert sum(energy["absorbed_by_W"].values()) == pytest.approx(energy["absorbed_W"])


def test_a_grid_tells_its_cells_and_a_point_does_not(summary: Json) -> None:
    meter, grid = summary["sensors"]
    assert "cells" not in meter
    assert [(cell["i"], cell["j"]) for cell in grid["cells"]] == [(i, j) for j in range(2) for i in range(4)]
    assert np.mean([cell["uvi"] for cell in grid["cells"]]) == pytest.approx(grid["uvi"])
    assert grid["cells"][1]["x_m"] - grid["cells"][0]["x_m"] == pytest.approx(0.1)


def test_zones_tell_verdict_criteria_and_more(summary: Json) -> None:
    basking, hide = summary["zones"]
    assert (basking["verdict"], hide["verdict"]) == ("inside the target", "outside the target")
    assert [part["name"] for part in basking["criteria"]] == ["mean", "max", "share"]
    assert summary["verdict"] == "outside the target"
    assert basking["uvb_315_W_m2"] < basking["uvb_320_W_m2"]
    assert {"uva_W_m2", "d3_W_m2", "actinic_W_m2", "uva_se", "share_below_298"} - basking.keys() == set()
    assert basking["uvi_max_where"]["surface"] == "basking"


def numbers(value: Any) -> Iterator[float]:  # noqa: ANN401
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for part in value:
            yield from numbers(part)
    elif isinstance(value, float):
        yield value


def test_dark_and_targetless_scenes_give_null_and_no_nan() -> None:
    result = terrarium(strength=0.0)
    result = replace(result, groups=tuple(replace(g, detail=None) if g.kind == "zone" else g for g in result.groups))
    summary = run_summary(result)
    json.dumps(summary, allow_nan=False)
    assert all(math.isfinite(number) for number in numbers(summary))
    zone = summary["zones"][0]
    assert (zone["share_below_298"], zone["covered_share"], zone["target"]["max"]) == (None, None, None)
    assert zone["verdict"] == "no target"


def test_values_are_plain(summary: Json) -> None:
    plain = (dict, list, str, int, float, bool, type(None))

    def kinds(value: Any) -> Iterator[type]:  # noqa: ANN401
        yield type(value)
        parts = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
        for part in parts:
            yield from kinds(part)

    assert {kind for kind in kinds(summary) if kind not in plain} == set()


def test_lamp_notes_and_hot_spots() -> None:
    summary = run_summary(make_result(terrarium_patches(), uniform(9.0)))
    assert summary["lamps"][0]["notes"] == ["radiant power stated"]
    assert {spot["sure"] for spot in summary["hot_spots"]} == {True}
    assert summary["highest_reachable"]["nearest_lamp"] == "tube"
    assert any("over 7.4" in line for line in summary["cautions"])
