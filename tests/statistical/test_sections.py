"""Sections against meters at the same places, and the run's own numbers beside them."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from sim.analysis.maps import Maps
from sim.analysis.rows import profiles
from sim.analysis.sections import sections
from sim.scene.model import Scene
from sim.simulate import simulate
from sim.tally.result import GroupKind, Result
from sim.tally.statistics import Estimate, estimate
from tests.support.significance import sidak

TEXT = """
title = "A tube over a block"
[enclosure]
size = ["80 cm", "50 cm", "40 cm"]
walls = { all = "melamine-white" }
[[lamps]]
name = "tube"
kind = "tube"
from = ["25 cm", "25 cm", "37 cm"]
to = ["55 cm", "25 cm", "37 cm"]
radius = "8 mm"
spectrum = "uvb-phosphor-306"
output = { radiant = "0.5 W" }
[[parts]]
name = "block"
kind = "box"
corner = ["50 cm", "15 cm", "0 cm"]
size = ["20 cm", "20 cm", "12 cm"]
law = "rock"
[[zones]]
name = "on the block"
role = "basking"
surface = "block.top"
"""
SCENE = Scene.model_validate(tomllib.loads(TEXT), context={"folder": Path()})


def metered(points: np.ndarray) -> Scene:
    lengths = [[f"{float(part)!r} m" for part in point] for point in points]
    meters = [{"kind": "point", "name": f"meter {k}", "at": at, "normal": [0, 0, 1]} for k, at in enumerate(lengths)]
    return Scene.model_validate(tomllib.loads(TEXT) | {"sensors": meters}, context={"folder": Path()})


def test_a_section_reads_what_meters_read() -> None:
    result = simulate(SCENE, histories=2_000_000, seed=5, threads=2, sections=True)
    found = sections(Maps(result))
    assert [(1, 0.25), (0, 0.4), (2, 0.03), (2, 0.15)] == [(one.axis, round(one.at, 9)) for one in found]
    front = found[0]
    rows, columns = front.mean.shape
    x = (np.arange(columns) + 0.5) * (front.across[1] - front.across[0]) / columns + front.across[0]
    z = (np.arange(rows) + 0.5) * (front.up[1] - front.up[0]) / rows + front.up[0]
    # Away from the lamp, where a cell is small beside how fast the light falls; nothing is read within the block.
    places = [(row, column) for row in (4, 8) for column in (6, 16) if np.isfinite(front.mean[row, column])]
    inside = front.mean[1, int(0.6 / 0.8 * columns)]
    assert (4, True) == (len(places), bool(np.isnan(inside)))
    meters = np.array([[x[column], 0.25, z[row]] for row, column in places])
    other = simulate(metered(meters), histories=2_000_000, seed=6, threads=2)
    read = estimate(Maps(other).uvi[:, [other.group("sensor", f"meter {k}").first for k in range(len(places))]])
    widest = float(norm.isf(0.5 * sidak(0.001, len(places))))
    for k, place in enumerate(places):
        error = np.hypot(front.se[place], read.se[k])
        # 1 % for what the cell averages over.
        excess = abs(front.mean[place] - read.mean[k]) - 0.01 * read.mean[k]
        assert excess < widest * error, place


def test_sections_change_no_number_of_the_run() -> None:
    plain, with_them = (simulate(SCENE, histories=64_000, seed=3, sections=wanted) for wanted in (False, True))
    own = len(plain.area)
    assert len(with_them.area) > own
    np.testing.assert_array_equal(plain.irradiance, with_them.irradiance[:, :own])
    assert plain.groups == with_them.groups[: len(plain.groups)]
    assert {"section"} == {group.kind for group in with_them.groups[len(plain.groups) :]}
    assert [("section", "under tube")] == [(group.kind, group.name) for group in profiles(Maps(with_them))]


def under_the_tube(result: Result, kind: GroupKind) -> Estimate:
    return estimate(Maps(result).uvi[:, result.group(kind, "under tube").rows])


@pytest.mark.parametrize("histories", [16_000, 400_000], ids=["few photons", "many photons"])
def test_a_line_under_a_lamp_goes_on_from_what_the_run_read_there(histories: int) -> None:
    result = simulate(SCENE, histories=histories, seed=3, threads=2, sections=True)
    own, more = under_the_tube(result, "sensor"), under_the_tube(result, "section")
    other = under_the_tube(simulate(SCENE, histories=histories, seed=4, threads=2), "sensor")
    widest = float(norm.isf(0.5 * sidak(0.001, len(more.mean))))
    assert (np.abs(more.mean - other.mean) < widest * np.hypot(more.se, other.se)).all()
    if histories == 16_000:
        assert float(np.median(more.se / own.se)) < 0.8
    else:  # the run made all the paths that a section wants
        np.testing.assert_array_equal(own.mean, more.mean)
