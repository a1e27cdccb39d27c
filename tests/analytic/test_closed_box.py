"""Light in closed matt boxes: radiosity with exact configuration factors, and the balance of energy.

Radiosity: tests/support/radiosity.py, after M. F. Cohen, J. R. Wallace (1993), with the rectangle factors of Howell's
catalog and patches halved until Richardson's rule converges. The mean over a closed room of one reflectance is
``P / (A (1 - r))`` whatever its shape, as in the integrating sphere.
"""

from math import hypot, sqrt
from pathlib import Path

import numpy as np
import pytest

from tests.support.answers import Answer, Reading, near, traced_file, traced_text
from tests.support.photon_box import TubeBox
from tests.support.radiosity import WALLS, Room, Triple, Values, converged, panel_room
from tests.support.scene_blocks import box, matt, panel, plane, scene, tube
from tests.support.tube_light import tube_irradiance

Rectangle = tuple[float, float, float, float]

SIX = {"floor": 0.1, "ceiling": 0.3, "front": 0.2, "back": 0.5, "left": 0.7, "right": 0.6}
SIZE = (1.2, 0.6, 0.6)
PANEL = (0.3, 0.9, 0.2, 0.4)


def ceiling_plane(answer: Answer) -> Reading:
    """Mean over the plane of the ceiling: what its own cells get and what the panel gets that covers some of them."""
    area = answer.area("ceiling")
    shares = [(answer.surface(name), answer.area(name) / area) for name in ("ceiling", "panel")]
    return Reading(sum(r.value * share for r, share in shares), hypot(*(r.se * share for r, share in shares)))


def walls_of(answer: Answer) -> dict[str, Reading]:
    return {wall: ceiling_plane(answer) if wall == "ceiling" else answer.surface(wall) for wall in WALLS}


def assert_walls(answer: Answer, expected: Values, tolerance: float) -> None:
    for wall, reading in walls_of(answer).items():
        assert expected[wall] == near(reading, tolerance), wall


def matt_box(size: Triple, reflectance: Values) -> str:
    return box(size, {wall: matt(share) for wall, share in reflectance.items()})


def ceiling_panel(size: Triple, at: Rectangle, power: float, body: str) -> str:
    x0, x1, y0, y1 = at
    return panel((x0, y1, size[2]), (x1 - x0, 0, 0), (0, y0 - y1, 0), power, extra=f"body = {body}")


def test_radiosity_gives_its_converged_numbers() -> None:
    room = Room(SIZE, SIX, (6, 3, 3))
    assert room.factors.sum(axis=1) == pytest.approx(1.0, abs=1e-12)
    found = panel_room(SIZE, SIX, PANEL, 12.0, (12, 6, 6), region=(0.0, 0.3, 0.0, 0.2))
    known = {"floor": 7.4456, "ceiling": 1.7626, "front": 5.8042, "back": 5.3648, "left": 4.0133, "right": 4.0202}
    assert {wall: found[wall] for wall in known} == pytest.approx(known, rel=1e-4)
    assert found["region"] == pytest.approx(5.6584, rel=5e-5)
    # Energy: all that the panel emits is absorbed.
    areas = {"floor": 0.72, "ceiling": 0.72, "front": 0.72, "back": 0.72, "left": 0.36, "right": 0.36}
    assert sum((1 - SIX[wall]) * found[wall] * areas[wall] for wall in areas) == pytest.approx(12.0, rel=1e-4)


def test_six_walls_and_a_panel() -> None:
    answer = traced_file("six-walls-panel")
    expected = panel_room(SIZE, SIX, PANEL, 12.0, (12, 6, 6), region=(0.0, 0.3, 0.0, 0.2))
    assert_walls(answer, expected, 0.003)
    assert expected["panel"] == near(answer.surface("panel"), 0.006)
    assert expected["region"] == near(answer.sensor("floor corner"), 0.003)
    assert answer.energy("absorbed_W") == pytest.approx(12.0, abs=1e-9)
    assert (answer.energy("escaped_W"), answer.energy("unfinished_W")) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("size", "reflectance", "at", "power", "cells"),
    [
        # A tall room, the panel in a corner.
        ((0.4, 0.4, 0.8), (0.5, 0.1, 0.7, 0.2, 0.3, 0.6), (0.0, 0.2, 0.0, 0.1), 3.0, (8, 8, 16)),
        # A long low one, bright, a narrow panel.
        ((1.5, 0.5, 0.25), (0.6, 0.9, 0.8, 0.8, 0.7, 0.4), (0.5, 1.0, 0.2, 0.3), 20.0, (15, 10, 5)),
    ],
)
def test_other_rooms_with_a_panel(
    size: Triple,
    reflectance: tuple[float, ...],
    at: Rectangle,
    power: float,
    cells: tuple[int, int, int],
    tmp_path: Path,
) -> None:
    shares = dict(zip(WALLS, reflectance, strict=True))
    lamp = ceiling_panel(size, at, power, matt(shares["ceiling"]))
    text = scene("Another room", matt_box(size, shares), lamp, histories=1_000_000)
    assert_walls(traced_text(text, tmp_path), panel_room(size, shares, at, power, cells), 0.004)


def test_cube_under_a_black_panel(tmp_path: Path) -> None:
    size, half = (0.6, 0.6, 0.6), dict.fromkeys(WALLS, 0.5)
    lamp = ceiling_panel(size, (0.0, 0.6, 0.0, 0.6), 36.0, '"black"')
    answer = traced_text(scene("A cube", matt_box(size, half), lamp, histories=600_000), tmp_path)
    expected = panel_room(size, half, (0.0, 0.6, 0.0, 0.6), 36.0, (6, 6, 6), panel_reflectance=0.0)
    published = {"floor": 31.035, "front": 32.799, "back": 32.799, "left": 32.799, "right": 32.799, "ceiling": 18.884}
    assert {wall: expected[wall] for wall in published} == pytest.approx(published, rel=3e-4)
    assert_walls(answer, published, 0.003)
    # The panel covers all of the ceiling, of which nothing is left to be lit.
    assert tuple(answer.surface("ceiling")) == (0.0, 0.0)


@pytest.mark.parametrize(("reflectance", "power", "expected"), [(0.5, 12.0, 6.66667), (0.9, 10.0, 27.7778)])
def test_mean_of_a_room_of_one_reflectance(reflectance: float, power: float, expected: float, tmp_path: Path) -> None:
    lamp = ceiling_panel(SIZE, PANEL, power, matt(reflectance))
    text = scene("One reflectance", matt_box(SIZE, dict.fromkeys(WALLS, reflectance)), lamp, histories=300_000)
    answer = traced_text(text, tmp_path)
    assert power / (3.6 * (1 - reflectance)) == pytest.approx(expected, rel=1e-5)
    received = sum(answer.surface(name).value * answer.area(name) for name in (*WALLS, "panel"))
    # Photons end by absorption, so their count of arrivals is geometric: three standard errors.
    assert expected == pytest.approx(received / 3.6, rel=3 * sqrt(reflectance / 300_000))
    if reflectance == 0.5:
        known = {"floor": 8.8199, "ceiling": 3.7890, "front": 7.4235, "back": 7.4235, "left": 5.8774, "right": 5.8774}
        assert_walls(answer, known, 0.005)


@pytest.mark.parametrize(
    ("reflectance", "share", "roughness", "expected"),
    [(0.5, 1.0, 1.0, 6.66667), (0.9, 1.0, 0.5, 33.3333), (0.9, 0.6, 0.3, 33.3333), (0.97, 1.0, 0.1, 111.1111)],
)
def test_mean_of_a_room_of_rough_mirrors(
    reflectance: float, share: float, roughness: float, expected: float, tmp_path: Path
) -> None:
    """A law that returns its reflectance, whatever the direction, gives every room the mean of a matt one."""
    law = f'{{ kind = "glossy", reflectance = {reflectance}, specular_share = {share}, roughness = {roughness} }}'
    lamp = ceiling_panel(SIZE, PANEL, 12.0, law)
    text = scene("Rough mirrors", box(SIZE, dict.fromkeys(WALLS, law)), lamp, histories=200_000)
    answer = traced_text(text, tmp_path)
    assert 12.0 / (3.6 * (1 - reflectance)) == pytest.approx(expected, rel=1e-5)
    received = sum(answer.surface(name).value * answer.area(name) for name in (*WALLS, "panel"))
    # Three standard errors, as above.
    assert expected == pytest.approx(received / 3.6, rel=3 * sqrt(reflectance / 200_000))
    assert answer.energy("absorbed_W") == pytest.approx(12.0, abs=1e-9)


@pytest.mark.parametrize("reflectance", [0.3, 0.9, 0.99])
def test_mean_with_a_white_tube(reflectance: float, tmp_path: Path) -> None:
    # Long paths: a cap on bounces, or roulette that is not fair, would show at 0.99.
    size = (0.7, 0.4, 0.3)
    area = 2 * (0.7 * 0.4 + 0.4 * 0.3 + 0.3 * 0.7)
    lamp = tube((0.1, 0.1, 0.2), (0.5, 0.3, 0.1), 0.02, 2.0, extra=f"body = {matt(1.0)}")
    text = scene("A white tube", matt_box(size, dict.fromkeys(WALLS, reflectance)), lamp, histories=25_000)
    answer = traced_text(text, tmp_path)
    received = sum(answer.surface(wall).value * answer.area(wall) for wall in WALLS)
    # What walls absorb is known exactly; what they receive is that over 1 - r but for the noise of the count of
    # arrivals, which is geometric as photons end by absorption: three standard errors.
    assert sum(answer.absorbed(wall) for wall in WALLS) == pytest.approx(2.0, abs=1e-9)
    assert 2.0 / (area * (1 - reflectance)) == pytest.approx(received / area, rel=3 * sqrt(reflectance / 25_000))
    assert answer.energy("unfinished_W") == 0.0


def wall_mean_of_tube(
    power: float, radius: float, length: float, middle: Triple, size: Triple, wall: str, nodes: int = 40
) -> float:
    """Mean irradiance straight from a tube along x, by quadrature over the wall and the cylinder."""
    axis, far = WALLS[wall]
    x, weight = np.polynomial.legendre.leggauss(nodes)
    places = [0.5 * size[other] * (1 + x) for other in range(3) if other != axis]
    u, v = (grid.ravel() for grid in np.meshgrid(*places, indexing="ij"))
    at = np.insert(np.stack([u, v], axis=1), axis, far * size[axis], axis=1) - np.array(middle)
    normal = np.zeros_like(at)
    normal[:, axis] = -1.0 if far else 1.0
    values = tube_irradiance(power, radius, length, at, normal, (48, 24))
    return float(values @ np.outer(weight, weight).ravel()) / 4.0


def test_black_walls_and_a_tube() -> None:
    answer = traced_file("black-walls-tube")
    known = {"floor": 2.2369, "ceiling": 4.7976, "front": 2.9573, "back": 2.9573, "left": 0.9398, "right": 0.9398}
    for wall, value in known.items():
        mean = wall_mean_of_tube(10.0, 0.013, 0.6, (0.6, 0.3, 0.45), SIZE, wall)
        assert mean == pytest.approx(value, rel=2e-4)
        assert mean == near(answer.surface(wall), 0.002)
    assert sum(answer.absorbed(wall) for wall in WALLS) == pytest.approx(10.0, abs=1e-9)


def test_six_walls_and_a_tube() -> None:
    # An independent photon tracer with an exact cylinder, 3.2e7 photons, standard error 0.001 W/m2.
    known = {"floor": 3.7044, "ceiling": 5.9920, "front": 4.3671, "back": 4.0546, "left": 1.9947, "right": 1.9983}
    answer = traced_file("six-walls-tube")
    for wall, value in known.items():
        assert value == near(answer.surface(wall), 0.003)
    walls = sum(answer.absorbed(wall) for wall in WALLS)
    assert walls == pytest.approx(9.8988, abs=0.003)
    assert walls + answer.absorbed("tube") == pytest.approx(10.0, abs=1e-9)


def test_thin_tube_is_the_line_of_radiosity(tmp_path: Path) -> None:
    # The radiosity lets light through the lamp's body, which a tube of 1 mm hardly shades: 0.1 % on the side walls.
    lamp = tube((0.3, 0.3, 0.45), (0.9, 0.3, 0.45), 1e-3, 10.0)
    answer = traced_text(scene("A thin tube", matt_box(SIZE, SIX), lamp, histories=1_000_000), tmp_path)

    def solve(cells: tuple[int, int, int]) -> Values:
        room = Room(SIZE, SIX, cells)
        middle = np.array([0.6, 0.3, 0.45])
        direct = room.patch_means(lambda at, n: tube_irradiance(10.0, 1e-3, 0.6, at - middle, n, (32, 6)))
        total = room.irradiance(direct)
        return {wall: room.mean(total, room.within(wall)) for wall in WALLS}

    expected = converged(solve, (12, 6, 6))
    published = {"floor": 3.7518, "ceiling": 6.0228, "front": 4.4115, "back": 4.0792, "left": 2.075, "right": 2.078}
    for wall, value in published.items():
        assert expected[wall] == pytest.approx(value, rel=4e-4)
        assert expected[wall] == near(answer.surface(wall), 0.004)


def test_white_lamp_body_absorbs_nothing() -> None:
    answer = traced_file("six-walls-white-tube")
    assert sum(answer.absorbed(wall) for wall in WALLS) == pytest.approx(10.0, abs=1e-9)
    assert answer.absorbed("tube") == 0.0
    # The same independent tracer as above.
    known = {"floor": 3.7341, "ceiling": 6.0713, "front": 4.4043, "back": 4.0994, "left": 2.0138, "right": 2.0173}
    for wall, value in known.items():
        assert value == near(answer.surface(wall), 0.004)


@pytest.mark.parametrize(
    ("size", "reflectance", "middle", "length", "radius", "body"),
    [
        ((0.8, 0.5, 0.4), (0.2, 0.6, 0.4, 0.8, 0.1, 0.5), (0.35, 0.2, 0.3), 0.4, 0.019, 0.5),
        ((0.5, 0.5, 0.9), (0.1, 0.1, 0.9, 0.9, 0.9, 0.9), (0.25, 0.3, 0.8), 0.3, 0.03, 0.0),
    ],
)
def test_other_rooms_with_a_tube(
    size: Triple,
    reflectance: tuple[float, ...],
    middle: Triple,
    length: float,
    radius: float,
    body: float,
    tmp_path: Path,
) -> None:
    shares = dict(zip(WALLS, reflectance, strict=True))
    x, y, z = middle
    lamp = tube((x - length / 2, y, z), (x + length / 2, y, z), radius, 5.0, extra=f"body = {matt(body)}")
    # The ends of the program's tube have its body's law; the other tracer's are black, and 2 % of the lamp.
    text = scene("Another tube", matt_box(size, shares), lamp, histories=1_000_000)
    answer = traced_text(text, tmp_path)
    reference = TubeBox(size, shares, middle, length, radius, body).irradiance(5.0, 20_000, 50, seed=7)
    for wall, (value, se) in reference.items():
        reading = answer.surface(wall)
        assert value == near(Reading(reading.value, hypot(reading.se, se)), 0.004)


def test_two_estimators_agree_in_a_bright_room(tmp_path: Path) -> None:
    # Cells count photons; a plane on the same wall, and points on it, are gathered another way.
    size, shares = (0.6, 0.5, 0.4), dict(zip(WALLS, (0.7, 0.5, 0.8, 0.6, 0.9, 0.4), strict=True))
    lamp = ceiling_panel(size, (0.1, 0.5, 0.1, 0.3), 4.0, matt(0.5))
    planes = (
        plane("on the floor", (0, 0, 0), (0.6, 0, 0), (0, 0.5, 0)),
        plane("on the left", (0, 0, 0), (0, 0.5, 0), (0, 0, 0.4)),
        plane("on the panel", (0.1, 0.3, 0.4), (0.4, 0, 0), (0, -0.2, 0)),
    )
    # A grid of points integrates the wall by Gauss's rule, which is exact for fields as smooth as this one.
    node, weight = np.polynomial.legendre.leggauss(4)
    places = [(0.3 * (1 + u), 0.25 * (1 + v)) for u in node for v in node]
    points = [
        f'[[sensors]]\nname = "floor {i}"\nkind = "point"\nat = ["{x!r} m", "{y!r} m", "0 m"]\nnormal = [0, 0, 1]'
        for i, (x, y) in enumerate((float(x), float(y)) for x, y in places)
    ]
    text = scene("Estimators", matt_box(size, shares), lamp, *planes, *points, histories=1_000_000)
    answer = traced_text(text, tmp_path)
    expected = panel_room(size, shares, (0.1, 0.5, 0.1, 0.3), 4.0, (12, 10, 8))
    assert expected["floor"] == near(answer.surface("floor"), 0.003)
    assert expected["floor"] == near(answer.sensor("on the floor"), 0.003)
    assert expected["left"] == near(answer.surface("left"), 0.003)
    assert expected["left"] == near(answer.sensor("on the left"), 0.003)
    assert expected["panel"] == near(answer.surface("panel"), 0.004)
    assert expected["panel"] == near(answer.sensor("on the panel"), 0.004)
    weights = np.outer(weight, weight).ravel() / 4.0
    readings = [answer.sensor(f"floor {i}") for i in range(16)]
    by_points = Reading(
        float(weights @ [r.value for r in readings]), float(np.sqrt(weights**2 @ [r.se**2 for r in readings]))
    )
    assert expected["floor"] == near(by_points, 0.003)
