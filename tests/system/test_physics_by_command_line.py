"""The physics that a user gets: scene files through ``vivray run FILE --json`` in a process of their own.

One set-up of each family of the analytic tests, where the formulas and their sources stand.
"""

import json
import os
import subprocess
import sys
from math import pi
from pathlib import Path
from typing import Any

import pytest
import trimesh

from tests.support.answers import SCENES, Answer, by_chance, near
from tests.support.photometric_files import cosine, eulumdat, lm63, values, written
from tests.support.tube_light import opposite_tube, under_line
from tests.support.view_factors import parallel_rectangles, perpendicular_rectangles
from tests.support.woven_wires import under_a_line

pytestmark = pytest.mark.system

ROOT = Path(__file__).resolve().parents[2]


def run(path: Path, *options: str) -> Answer:
    """Run a scene by the command line and read the one JSON object on stdout."""
    command = [sys.executable, "-W", "error", "-m", "sim", "run", str(path), "--json", "--seed", "11", *options]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=path.parent, env=environment)
    assert done.returncode == 0, done.stderr
    summary: dict[str, Any] = json.loads(done.stdout)
    return Answer(summary)


def run_file(name: str, *options: str) -> Answer:
    return run(SCENES / f"{name}.toml", *options)


def test_view_factors_of_a_room() -> None:
    answer = run_file("panel-over-floor")
    assert parallel_rectangles(1.2, 0.6, 0.6) / 0.72 == by_chance(answer.surface("floor"))
    assert perpendicular_rectangles(1.2, 0.6, 0.6) / 0.72 == by_chance(answer.surface("front"))
    assert perpendicular_rectangles(0.6, 1.2, 0.6) / 0.36 == by_chance(answer.surface("left"))
    assert answer.energy("escaped_W") == 0.0


@pytest.mark.parametrize("distance", [0.05, 0.3, 2.0])
def test_meters_under_a_tube(distance: float, tube_answer: Answer) -> None:
    assert opposite_tube(1.0, 0.013, 0.6, distance) == near(tube_answer.sensor(f"{distance} m"), 0.003)


@pytest.fixture(scope="module")
def tube_answer() -> Answer:
    return run_file("t8-tube-meters")


def test_edge_of_a_shadow() -> None:
    answer = run_file("shadow-edge")
    peak = under_line(10, 0.6, 0.4)
    for along, expected in {-0.2: 3.72708, 0: 2.37155, 0.1: 0.890256, 0.31: 0.0}.items():
        assert expected == near(answer.sensor(f"x {along} m"), 0.01, of=peak)


def test_mirror() -> None:
    expected = under_line(10, 0.6, 0.3, 0.1) + 0.9 * under_line(10, 0.6, 0.4, 0.1)
    assert expected == pytest.approx(10.3257, abs=6e-5)
    assert expected == near(run_file("mirror-above-thin-tube").sensor("beside"), 0.005)


def test_lamp_that_hides_its_image() -> None:
    assert opposite_tube(10, 0.013, 0.6, 0.3) == near(run_file("lamp-hides-its-image").sensor("below"), 0.003)


def test_sphere_from_a_mesh_file(tmp_path: Path) -> None:
    sphere = trimesh.creation.icosphere(subdivisions=4, radius=300.0)
    sphere.export(tmp_path / "sphere.stl")
    scene = tmp_path / "sphere.toml"
    scene.write_text((SCENES / "sphere.toml").read_text(encoding="utf-8"), encoding="utf-8")
    answer = run(scene)
    expected = 5.0 / (sphere.area * 1e-6 * 0.2)
    assert expected == pytest.approx(5.0 / (4 * pi * 0.3**2 * 0.2), rel=2e-3)
    for part in ("floor", "ceiling", "walls"):
        assert expected == near(answer.surface(part), 0.005)


def test_room_of_six_walls_and_a_panel() -> None:
    answer = run_file("six-walls-panel", "--histories", "1000000")
    # Radiosity with exact rectangle factors; see test_closed_box.py.
    known = {"floor": 7.4456, "front": 5.8042, "back": 5.3648, "left": 4.0133, "right": 4.0202}
    for wall, expected in known.items():
        assert expected == near(answer.surface(wall), 0.004)
    plane = sum(answer.surface(name).value * answer.area(name) for name in ("ceiling", "panel")) / 0.72
    # Three standard errors of 0.3 % on top of 0.3 %.
    assert plane == pytest.approx(1.7626, rel=0.012)
    assert answer.energy("absorbed_W") == pytest.approx(12.0, abs=1e-9)


def test_room_of_six_walls_and_a_white_tube() -> None:
    answer = run_file("six-walls-white-tube", "--histories", "300000")
    walls = ("floor", "ceiling", "front", "back", "left", "right")
    assert sum(answer.absorbed(wall) for wall in walls) == pytest.approx(10.0, abs=1e-9)


def test_tube_between_black_walls() -> None:
    answer = run_file("black-walls-tube")
    # Quadrature over the cylinder and the walls; see test_closed_box.py.
    known = {"floor": 2.2369, "ceiling": 4.7976, "front": 2.9573, "back": 2.9573, "left": 0.9398, "right": 0.9398}
    for wall, expected in known.items():
        assert expected == near(answer.surface(wall), 0.002)


def test_screen_under_a_tube() -> None:
    answer = run_file("mesh-under-thin-tube")
    assert under_a_line(0.176, 0.6, 0.3) * under_line(1, 0.6, 0.3) == near(answer.sensor("below"), 0.005)
    assert under_a_line(0.176, 0.6, 0.15) * under_line(1, 0.6, 0.15) == near(answer.sensor("near"), 0.005)


@pytest.mark.parametrize(
    ("name", "expected"),
    [("uv-index-of-a-tube", 13.584), ("uv-index-of-a-thin-tube", 13.405), ("uv-index-under-a-mesh", 8.907)],
)
def test_uv_index_end_to_end(name: str, expected: float) -> None:
    assert expected == near(run_file(name).uvi("below"), 0.01)


SPOT = """
title = "A spot and meters"
[[lamps]]
name = "spot"
kind = "spot"
at = ["0 cm", "0 cm", "0 cm"]
diameter = "1 cm"
depth = "8 cm"
distribution = "lamp.{suffix}"
spectrum = "uvb-phosphor-306"
{strength}
[[sensors]]
name = "below"
kind = "point"
at = ["0 cm", "0 cm", "-100 cm"]
normal = [0, 0, 1]
[[sensors]]
name = "beside"
kind = "point"
at = ["100 cm", "0 cm", "-100 cm"]
normal = [0, 0, 1]
[run]
histories = 1000
"""


@pytest.mark.parametrize("suffix", ["ies", "ldt"])
def test_spot_by_the_inverse_square_law(tmp_path: Path, suffix: str) -> None:
    """I = 1000 cos W/sr: 1000 W/m2 at 1 m straight below; beside, I cos / d^2 = 1000 cos^2 45 deg / 2."""
    angles = [2.5 * step for step in range(37)]
    table = values(cosine, angles, [0.0])
    written(tmp_path, f"lamp.{suffix}", (lm63 if suffix == "ies" else eulumdat)(table, angles))
    scene = written(tmp_path, "spot.toml", SPOT.format(suffix=suffix, strength='file_unit = "W/sr"'))
    answer = run(scene)
    # The chords of 2.5 degrees lie a few parts in ten thousand below the cosine.
    assert 1000.0 == near(answer.sensor("below"), 5e-4)
    assert 250.0 == near(answer.sensor("beside"), 5e-4)
    assert 1000.0 * pi == pytest.approx(answer.energy("emitted_W"), rel=1e-3)
    assert answer.energy("emitted_W") == pytest.approx(answer.energy("escaped_W") + answer.energy("absorbed_W"))


def test_spot_by_a_reading_takes_the_shape_of_its_file_alone(tmp_path: Path) -> None:
    angles = [2.5 * step for step in range(37)]
    written(tmp_path, "lamp.ies", lm63(values(cosine, angles, [0.0]), angles, multiplier=7.0))
    strength = 'output = { uvi = 3.0, at = "100 cm", setting = "bare" }'
    answer = run(written(tmp_path, "spot.toml", SPOT.format(suffix="ies", strength=strength)))
    assert 3.0 == near(answer.uvi("below"), 2e-3)
    assert 0.75 == near(answer.uvi("beside"), 2e-3)
