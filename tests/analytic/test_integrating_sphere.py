"""The integrating sphere, from mesh files: the same irradiance at every place of its wall.

A matt source on the wall sends equal light to every part of a sphere (chords and cosines cancel), and so does each
reflection. Of the power ``P`` a wall of reflectance ``r`` with a port of a share ``f`` then gets
``P / A / (1 - r (1 - f))`` everywhere; the light after the first reflection is the sphere multiplier
``r / (1 - r (1 - f))`` of textbooks of photometry (CIE 84:1989, The measurement of luminous flux) times what the wall
itself gets first. An icosphere of 5120 facets is round to 0.1 %; its own area enters.
"""

from math import pi
from pathlib import Path

import numpy as np
import pytest
import trimesh

from tests.support.answers import SCENES, Answer, near, traced, traced_text
from tests.support.scene_blocks import Triple, matt, panel, scene, tube

WHITE = f"body = {matt(1.0)}"
PARTS = ("floor", "ceiling", "walls")
LEVEL = 0.994
"""Height of the lamp over the centre, in radii: a little under the wall, so its straight light is not quite even."""


def room(file: str, unit: str, reflectance: float) -> str:
    return f'[enclosure]\nmesh = "{file}"\nunit = "{unit}"\nlaw = {matt(reflectance)}'


def wall_lamp(radius: float, power: float) -> str:
    """A small white panel at the top of a sphere, facing its centre."""
    side = radius / 30.0
    height = radius * LEVEL
    return panel((-side / 2, side / 2, height), (side, 0, 0), (0, -side, 0), power, extra=WHITE)


def straight(area: float, part: str, radius: float) -> float:
    """Mean straight light per watt on the caps of an area at top and bottom and between them, from a matt point."""
    edge = 1.0 - area / (2.0 * pi * radius**2)
    low, high = {"ceiling": (edge, 1.0), "floor": (-1.0, -edge)}[part]
    z = low + (high - low) * (np.arange(200_000) + 0.5) / 200_000
    distance2 = 1.0 + LEVEL**2 - 2.0 * LEVEL * z
    light = np.clip(LEVEL - z, 0.0, None) * (1.0 - LEVEL * z) / (pi * distance2**2)
    return float(light.mean()) / radius**2


def total_area(answer: Answer) -> float:
    return sum(answer.area(part) for part in PARTS)


def mean(answer: Answer) -> float:
    return sum(answer.surface(part).value * answer.area(part) for part in PARTS) / total_area(answer)


def test_sphere_of_the_scene_file(tmp_path: Path) -> None:
    sphere = trimesh.creation.icosphere(subdivisions=4, radius=300.0)
    sphere.export(tmp_path / "sphere.stl")
    (tmp_path / "sphere.toml").write_text((SCENES / "sphere.toml").read_text(encoding="utf-8"), encoding="utf-8")
    answer = traced(tmp_path / "sphere.toml")
    area = total_area(answer)
    assert sphere.area * 1e-6 == pytest.approx(area, rel=1e-6)
    # P / (4 pi R^2 (1 - r)) is 22.1049 W/m2 for 5 W, 0.3 m and 0.8; the facets take 0.1 % off the area.
    assert pytest.approx(22.1049, abs=6e-5) == 5.0 / (4 * pi * 0.3**2 * 0.2)
    for part in PARTS:
        assert 5.0 / (area * 0.2) == near(answer.surface(part), 0.005)
    assert 22.1049 == pytest.approx(mean(answer), rel=0.005)
    # Energy closes whatever the shape: the lamp absorbs nothing, so the mean is off by the lamp's back alone.
    assert answer.energy("absorbed_W") == pytest.approx(5.0, abs=1e-9)
    assert answer.absorbed("port lamp") == 0.0


@pytest.mark.parametrize(
    ("radius", "reflectance", "power", "file", "histories"),
    [
        (0.3, 0.95, 5.0, "ball.ply", 60_000),
        (0.12, 0.5, 0.2, "ball.obj", 150_000),
        (0.5, 0.98, 3.0, "ball.stl", 70_000),
    ],
)
def test_other_spheres(
    radius: float, reflectance: float, power: float, file: str, histories: int, tmp_path: Path
) -> None:
    trimesh.creation.icosphere(subdivisions=4, radius=radius / 0.0254).export(tmp_path / file)
    text = scene(
        "A sphere",
        room(file, "in", reflectance),
        wall_lamp(radius, power),
        histories=histories,
        receiver_size=radius / 2,
    )
    answer = traced_text(text, tmp_path)
    whole = total_area(answer)
    caps = {part: straight(answer.area(part), part, radius) for part in ("ceiling", "floor")}
    rest = (1.0 - sum(caps[part] * answer.area(part) for part in caps)) / answer.area("walls")
    for part in PARTS:
        expected = power * (reflectance / (1.0 - reflectance) / whole + caps.get(part, rest))
        assert expected == near(answer.surface(part), 0.005)


@pytest.mark.parametrize("at", [(0.0, 0.0, 0.0), (0.1, 0.05, -0.08)])
def test_lamp_anywhere_inside_gives_the_same_mean(at: Triple, tmp_path: Path) -> None:
    # Off the wall the direct light is uneven, but the mean over all of the wall is fixed by the energy alone.
    trimesh.creation.icosphere(subdivisions=3, radius=0.3).export(tmp_path / "sphere.ply")
    lamp = tube((at[0] - 0.05, at[1], at[2]), (at[0] + 0.05, at[1], at[2]), 0.008, 5.0, extra=WHITE)
    text = scene("A tube in a sphere", room("sphere.ply", "m", 0.8), lamp, histories=100_000, receiver_size=0.15)
    answer = traced_text(text, tmp_path)
    expected = 5.0 / (total_area(answer) * 0.2)
    assert expected == pytest.approx(mean(answer), rel=0.003)
    assert sum(answer.absorbed(part) for part in PARTS) == pytest.approx(5.0, abs=1e-9)


@pytest.mark.parametrize(("reflectance", "polar_deg", "multiplier"), [(0.95, 16.3, 13.77), (0.98, 25.9, 14.2)])
def test_sphere_with_a_port(reflectance: float, polar_deg: float, multiplier: float, tmp_path: Path) -> None:
    # The port is a cap of facets taken off beside the lamp; light that meets it is lost.
    radius = 0.3
    sphere = trimesh.creation.icosphere(subdivisions=4, radius=radius)
    whole = sphere.area
    beyond = sphere.triangles_center @ np.array([1.0, 0.0, 0.0]) < radius * np.cos(np.deg2rad(polar_deg))
    sphere.update_faces(beyond)
    sphere.export(tmp_path / "port.ply")
    share = 1.0 - sphere.area / whole
    factor = reflectance / (1.0 - reflectance * (1.0 - share))
    assert multiplier == pytest.approx(factor, rel=0.02)
    text = scene(
        "A port",
        room("port.ply", "m", reflectance),
        wall_lamp(radius, 5.0),
        histories=80_000,
        receiver_size=radius / 2,
    )
    answer = traced_text(text, tmp_path)
    expected = 5.0 / whole * (1.0 + factor * (1.0 - share))
    for part in PARTS:
        assert expected == near(answer.surface(part), 0.007)
    assert answer.energy("absorbed_W") + answer.energy("escaped_W") == pytest.approx(5.0, abs=1e-9)
