"""One whole scene against Mitsuba 3, a general-purpose renderer: tube, curved mirror, six different walls, a plate.

Two programs that share no code, one following photons from the lamp, the other paths from the walls.
"""

import math
from pathlib import Path

import pytest

from sim.report.summary import run_summary
from sim.scene.load import load_scene
from sim.simulate import simulate
from tests.support.mitsuba_scene import irradiances

SCENE = Path(__file__).parent / "scenes" / "parabola-over-plate.toml"


def test_every_surface_agrees_within_half_a_percent_and_three_standard_errors(tmp_path: Path) -> None:
    # 7 comparisons at 3 combined standard errors: a false alarm in 2 % of seeds without the half percent, which is
    # there for the facets of tube and mirror. Seeds are fixed.
    mi = pytest.importorskip("mitsuba", reason="Mitsuba is not installed; the cross-check is left out")
    mi.set_variant("scalar_rgb")
    scene = load_scene(SCENE)
    summary = run_summary(simulate(scene, histories=4_000_000, seed=11, threads=2))
    ours = {row["name"]: (row["irradiance_W_m2"], row["irradiance_se"]) for row in summary["surfaces"]}
    theirs = irradiances(mi, scene, 40, tmp_path)
    assert set(theirs) == set(ours)
    for name, (value, se) in theirs.items():
        tolerance = 0.005 * value + 3.0 * math.hypot(se, ours[name][1])
        assert ours[name][0] == pytest.approx(value, abs=tolerance), name
