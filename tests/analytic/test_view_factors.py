"""Configuration factors: a matt panel as the first surface, what it sends to others as the factor.

Closed forms: J. R. Howell, A Catalog of Radiation Configuration Factors. Factors are power received over power
emitted; readings count as right within four standard errors (a right program fails once in 16,000), as there is no
modelling error to allow for.
"""

from itertools import permutations
from math import pi, sqrt
from pathlib import Path

import numpy as np
import pytest
import trimesh

from tests.support import view_factors
from tests.support.answers import Answer, Reading, by_chance, traced_file, traced_text
from tests.support.radiosity import WALLS
from tests.support.scene_blocks import Triple, box, panel, plane, plate, point, scene

SIDES = 512


def factor(answer: Answer, surface: str, power: float = 1.0) -> Reading:
    """Share of a lamp's power that falls on a surface."""
    reading, area = answer.surface(surface), answer.area(surface)
    return Reading(reading.value * area / power, reading.se * area / power)


# The numbers are the formulas' own, to nine digits: the program's formulas must not drift with the program.
@pytest.mark.parametrize(
    ("found", "value"),
    [
        (view_factors.parallel_rectangles(1, 1, 1), 0.199824896),
        (view_factors.perpendicular_rectangles(1, 1, 1), 0.200043776),
        (view_factors.parallel_rectangles(1.2, 0.6, 0.6), 0.285875385),
        (view_factors.perpendicular_rectangles(1.2, 0.6, 0.6), 0.240636006),
        (view_factors.perpendicular_rectangles(0.6, 1.2, 0.6), 0.116426301),
        (view_factors.perpendicular_rectangles(0.6, 0.6, 1.2), 0.232852603),
        (view_factors.coaxial_disks(1, 1, 1), 0.381966011),
        (view_factors.coaxial_disks(0.5, 0.25, 1), 0.048058984),
        (view_factors.element_to_parallel_rectangle(0.6, 0.3, 0.6), 0.090184371),
        (view_factors.element_to_upright_rectangle(0.6, 0.3, 0.6), 0.035546720),
        (view_factors.element_to_disk(0.1, 0.3), 0.1),
        (view_factors.element_to_disk(0.1, 0.3, 0.2), 0.052786405),
    ],
)
def test_formulas_give_the_published_numbers(found: float, value: float) -> None:
    assert value == pytest.approx(found, abs=6e-10)


@pytest.mark.parametrize("size", [(1.0, 1.0, 1.0), (1.2, 0.6, 0.6), (0.7, 0.45, 0.2), (0.3, 0.4, 1.1)])
def test_parallel_rectangles(size: Triple, tmp_path: Path) -> None:
    a, b, gap = size
    text = scene(
        "Parallel rectangles",
        panel((0, 0, gap), (0, b, 0), (a, 0, 0), 1.0),
        plate("target", (0, 0, 0), (a, 0, 0), (0, b, 0)),
        histories=500_000,
    )
    answer = traced_text(text, tmp_path)
    assert view_factors.parallel_rectangles(a, b, gap) == by_chance(factor(answer, "target"))
    assert answer.energy("escaped_W") == pytest.approx(1.0 - factor(answer, "target").value, abs=1e-6)


@pytest.mark.parametrize("size", [(1.0, 1.0, 1.0), (1.2, 0.6, 0.6), (0.6, 1.2, 0.6), (0.25, 0.5, 0.9)])
def test_perpendicular_rectangles_with_a_common_edge(size: Triple, tmp_path: Path) -> None:
    edge, width, height = size
    text = scene(
        "A corner",
        panel((0, 0, 0), (edge, 0, 0), (0, width, 0), 1.0),
        plate("target", (0, 0, 0), (0, 0, height), (edge, 0, 0)),
        histories=200_000,
    )
    expected = view_factors.perpendicular_rectangles(edge, width, height)
    assert expected == by_chance(factor(traced_text(text, tmp_path), "target"))


# Rectangles of different size, shifted against each other: (x0, x1, y0, y1) of panel and target, and their distance.
@pytest.mark.parametrize(
    ("lit", "seen", "gap"),
    [
        ((0.1, 0.5, 0.2, 0.3), (0.4, 0.9, -0.1, 0.6), 0.7),
        ((0.0, 1.0, 0.0, 0.05), (0.2, 0.3, 0.0, 0.8), 0.15),
        ((-0.4, 0.4, -0.4, 0.4), (0.3, 1.3, 0.5, 1.0), 0.3),
    ],
)
def test_shifted_parallel_rectangles(
    lit: tuple[float, float, float, float], seen: tuple[float, float, float, float], gap: float, tmp_path: Path
) -> None:
    lamp = panel((lit[0], lit[2], gap), (0, lit[3] - lit[2], 0), (lit[1] - lit[0], 0, 0), 1.0)
    target = plate("target", (seen[0], seen[2], 0), (seen[1] - seen[0], 0, 0), (0, seen[3] - seen[2], 0))
    exchange = view_factors.between_parallel(*(np.array(ends) for ends in (lit[:2], lit[2:], seen[:2], seen[2:])), gap)
    expected = float(exchange) / ((lit[1] - lit[0]) * (lit[3] - lit[2]))
    answer = traced_text(scene("Shifted rectangles", lamp, target, histories=1_200_000), tmp_path)
    assert expected == by_chance(factor(answer, "target"))


def test_ceiling_of_a_room_to_its_other_walls() -> None:
    answer = traced_file("panel-over-floor")
    assert view_factors.parallel_rectangles(1.2, 0.6, 0.6) == by_chance(factor(answer, "floor"))
    for wall in ("front", "back"):
        assert view_factors.perpendicular_rectangles(1.2, 0.6, 0.6) == by_chance(factor(answer, wall))
    for wall in ("left", "right"):
        assert view_factors.perpendicular_rectangles(0.6, 1.2, 0.6) == by_chance(factor(answer, wall))


def face_panel(size: Triple, wall: str) -> str:
    """A panel that covers a wall of a box from within."""
    axis, far = WALLS[wall]
    corner, edges = [0.0, 0.0, 0.0], []
    corner[axis] = size[axis] if far else 0.0
    for other in ((axis + 1) % 3, (axis + 2) % 3):
        edge = [0.0, 0.0, 0.0]
        edge[other] = size[other]
        edges.append((edge[0], edge[1], edge[2]))
    u, v = edges[::-1] if far else edges
    return panel((corner[0], corner[1], corner[2]), u, v, 1.0)


@pytest.mark.parametrize("size", [(1.2, 0.6, 0.6), (0.5, 0.9, 1.4)])
def test_rows_of_a_box_sum_to_one_and_are_reciprocal(size: Triple, tmp_path: Path) -> None:
    factors: dict[tuple[str, str], Reading] = {}
    areas: dict[str, float] = {}
    for wall in WALLS:
        blocks = box(size, {"all": '"black"'}), face_panel(size, wall)
        answer = traced_text(scene("A face that shines", *blocks, histories=200_000, receiver_size=0.3), tmp_path)
        others = [other for other in WALLS if other != wall]
        # Exactly: no photon slips out at an edge, none is lost or counted twice.
        assert sum(answer.absorbed(other) for other in others) == pytest.approx(1.0, abs=1e-12)
        assert (answer.absorbed(wall), answer.absorbed("panel"), answer.energy("escaped_W")) == (0.0, 0.0, 0.0)
        factors |= {(wall, other): factor(answer, other) for other in others}
        areas |= {other: answer.area(other) for other in others}
    for one, other in permutations(WALLS, 2):
        there, back = factors[one, other], factors[other, one]
        difference = areas[one] * there.value - areas[other] * back.value
        error = sqrt((areas[one] * there.se) ** 2 + (areas[other] * back.se) ** 2)
        assert error < 0.008 * areas[one] * there.value
        assert abs(difference) < 4.0 * error + 1e-6


def disk(path: Path, radius: float) -> None:
    """Write a disk of a polygon of the same area, front up."""
    reach = radius * sqrt(2 * pi / SIDES / np.sin(2 * pi / SIDES))
    angle = 2 * pi * np.arange(SIDES) / SIDES
    ring = np.stack([reach * np.cos(angle), reach * np.sin(angle), np.zeros(SIDES)], axis=1)
    faces = [[SIDES, i, (i + 1) % SIDES] for i in range(SIDES)]
    trimesh.Trimesh(np.vstack([ring, [[0, 0, 0]]]), faces, process=False).export(path)


def diaphragm(path: Path, radius: float, outer: float) -> None:
    """Write a flat ring around a round hole of a radius."""
    reach = radius * sqrt(2 * pi / SIDES / np.sin(2 * pi / SIDES))
    angle = 2 * pi * np.arange(SIDES) / SIDES
    ring = np.stack([np.cos(angle), np.sin(angle), np.zeros(SIDES)], axis=1)
    i = np.arange(SIDES)
    j = (i + 1) % SIDES
    faces = np.concatenate([np.stack([i, i + SIDES, j + SIDES], axis=1), np.stack([i, j + SIDES, j], axis=1)])
    trimesh.Trimesh(np.vstack([reach * ring, outer * ring]), faces, process=False).export(path)


def mesh_part(name: str, file: str, height: float) -> str:
    return (
        f'[[parts]]\nname = "{name}"\nkind = "mesh"\nfile = "{file}"\nunit = "m"\nlaw = "black"\n'
        f'at = ["0 m", "0 m", "{height!r} m"]'
    )


@pytest.mark.parametrize(("r1", "r2", "gap"), [(1.0, 1.0, 1.0), (0.5, 0.25, 1.0), (0.2, 0.6, 0.25)])
def test_coaxial_disks(r1: float, r2: float, gap: float, tmp_path: Path) -> None:
    # The first disk is the hole of a black diaphragm that lies on a larger panel.
    disk(tmp_path / "disk.ply", r2)
    diaphragm(tmp_path / "ring.ply", r1, 2.0 * r1)
    side = 2.02 * r1
    touch = 1e-6
    text = scene(
        "Coaxial disks",
        panel((-side / 2, -side / 2, gap + touch), (0, side, 0), (side, 0, 0), side**2),
        mesh_part("ring", "ring.ply", gap),
        mesh_part("disk", "disk.ply", 0.0),
        histories=600_000,
        receiver_size=0.3,
    )
    received = factor(traced_text(text, tmp_path), "disk", power=pi * r1**2)
    assert view_factors.coaxial_disks(r1, r2, gap) == by_chance(received)


@pytest.mark.parametrize(
    ("radius", "gap", "offset"), [(0.1, 0.3, 0.0), (0.1, 0.3, 0.2), (0.4, 0.1, 0.0), (0.3, 0.2, 0.35)]
)
def test_small_element_to_a_disk(radius: float, gap: float, offset: float, tmp_path: Path) -> None:
    disk(tmp_path / "disk.ply", radius)
    size = 1e-4
    text = scene(
        "A small lamp over a disk",
        panel((offset - size / 2, -size / 2, gap), (0, size, 0), (size, 0, 0), 1.0),
        mesh_part("disk", "disk.ply", 0.0),
        histories=200_000,
    )
    expected = view_factors.element_to_disk(radius, gap, offset)
    assert expected == by_chance(factor(traced_text(text, tmp_path), "disk"))


@pytest.mark.parametrize(("a", "b", "gap"), [(0.6, 0.3, 0.6), (1.0, 0.2, 0.15), (0.3, 0.3, 2.0)])
def test_meter_under_the_corner_of_a_panel(a: float, b: float, gap: float, tmp_path: Path) -> None:
    text = scene(
        "A meter under a corner",
        panel((0, 0, gap), (0, b, 0), (a, 0, 0), a * b),
        point("meter", (0, 0, 0)),
        histories=200_000,
    )
    expected = view_factors.element_to_parallel_rectangle(a, b, gap)
    assert expected == by_chance(traced_text(text, tmp_path).sensor("meter"))


@pytest.mark.parametrize(("height", "width", "distance"), [(0.6, 0.3, 0.6), (0.2, 1.0, 0.1), (2.0, 0.5, 0.7)])
def test_meter_in_front_of_an_upright_panel(height: float, width: float, distance: float, tmp_path: Path) -> None:
    text = scene(
        "A meter before a panel",
        panel((distance, 0, 0), (0, 0, height), (0, width, 0), height * width),
        point("meter", (0, 0, 0)),
        histories=200_000,
    )
    expected = view_factors.element_to_upright_rectangle(height, width, distance)
    assert expected == by_chance(traced_text(text, tmp_path).sensor("meter"))


def test_sensor_plane_and_surface_agree_where_they_coincide(tmp_path: Path) -> None:
    # Photons that land in cells and rays gathered at a plane are two estimators of the same mean.
    text = scene(
        "A plane on a plate",
        panel((0, 0, 0.3), (0, 0.5, 0), (0.4, 0, 0), 1.0),
        plate("plate", (0.1, 0, 0), (0.7, 0, 0), (0, 0.5, 0)),
        plane("on it", (0.1, 0, 0), (0.7, 0, 0), (0, 0.5, 0)),
        histories=300_000,
    )
    answer = traced_text(text, tmp_path)
    ends = (np.array(pair) for pair in ((0.0, 0.4), (0.0, 0.5), (0.1, 0.8), (0.0, 0.5)))
    expected = float(view_factors.between_parallel(*ends, 0.3)) / 0.2 / 0.35
    assert expected == by_chance(answer.surface("plate"))
    assert expected == by_chance(answer.sensor("on it"))
