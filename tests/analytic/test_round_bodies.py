"""Configuration factors of discs, spheres and cylinders, which other forms than the lamp's own hold.

Closed forms: J. R. Howell, A Catalog of Radiation Configuration Factors (McGraw-Hill 1982, and its later editions on
the web; code numbers from memory). A spot of 120 degrees is a matt disc. Readings and shares of photons count as right
within four standard errors (a right program fails once in 16,000); what ends of long bodies cost is allowed for.
"""

from math import acos, asin, atan, cos, hypot, pi, radians, sin, sqrt
from pathlib import Path

import numpy as np
import pytest
import trimesh

from tests.support.answers import Reading, by_chance, traced_text
from tests.support.scene_blocks import Triple, ball, panel, plate, point, rod, scene, spot, tube
from tests.support.view_factors import element_to_disk

SIDES = 512
LONG = 60.0
"""Length of bodies that stand for endless ones [m]."""


def share(found: float, histories: int) -> Reading:
    """A share of photons with its binomial standard error."""
    return Reading(found, sqrt(found * (1.0 - found) / histories))


def element_to_ball(radius: float, distance: float, tilt: float) -> float:
    """From a small element to a sphere whose centre lies off its normal by an angle [rad].

    ``(r/d)^2 cos tilt`` while the whole sphere is above the element's plane; else what of its cone is above, by
    quadrature over rings about the cone's axis.
    """
    opening = asin(radius / distance)
    if tilt + opening <= pi / 2:
        return (radius / distance) ** 2 * cos(tilt)
    nodes, weights = np.polynomial.legendre.leggauss(400)
    angle, around = 0.5 * opening * (nodes + 1.0), 0.5 * pi * (nodes + 1.0)
    cosine = np.cos(angle)[:, None] * cos(tilt) + np.sin(angle)[:, None] * sin(tilt) * np.cos(around)
    ring = pi * np.maximum(cosine, 0.0) @ weights
    return float(0.5 * opening * (ring * np.sin(angle)) @ weights / pi)


@pytest.mark.parametrize("degrees", [0, 60, 80, 90, 100])
def test_small_element_to_a_sphere(degrees: int, tmp_path: Path) -> None:
    tilt, size, histories = radians(degrees), 1e-4, 1_000_000
    u, v = (size * cos(tilt), 0.0, -size * sin(tilt)), (0.0, size, 0.0)
    corner = (-0.5 * u[0], -0.5 * size, -0.5 * u[2])
    text = scene("A ball", panel(corner, u, v, 1.0), ball("ball", (0, 0, 0.3), 0.1), histories=histories)
    answer = traced_text(text, tmp_path)
    expected = element_to_ball(0.1, 0.3, tilt)
    assert expected == by_chance(share(answer.absorbed("ball"), histories), resolution=0.03)


@pytest.mark.parametrize(("disc", "radius", "distance"), [(0.1, 0.05, 0.2), (0.02, 0.15, 0.16)])
def test_disc_to_a_sphere_on_its_axis(disc: float, radius: float, distance: float, tmp_path: Path) -> None:
    histories = 1_000_000
    lamp = spot((0, 0, 0), (0, 0, 1), 2 * disc)
    answer = traced_text(
        scene("A ball over a disc", lamp, ball("ball", (0, 0, distance), radius), histories=histories), tmp_path
    )
    # Sphere to disc is (1 - 1 / sqrt(1 + (r / h)^2)) / 2 (C-136), whatever the sphere's radius; by reciprocity:
    expected = 2.0 * (radius / disc) ** 2 * (1.0 - distance / hypot(distance, disc))
    assert expected == by_chance(share(answer.absorbed("ball"), histories))


def test_disc_to_elements_beside_its_axis(tmp_path: Path) -> None:
    radius, depth, offsets = 0.1, 0.1, (0.05, 0.15, 0.4)
    meters = [point(f"level {x}", (x, 0, -depth)) for x in (0.0, *offsets)]
    meters += [point(f"upright {x}", (x, 0, -depth), (-1, 0, 0)) for x in offsets[1:]]
    text = scene("A disc", spot((0, 0, 0), (0, 0, -1), 2 * radius), *meters, histories=400_000)
    answer, exitance = traced_text(text, tmp_path), 1.0 / (pi * radius**2)
    for x in (0.0, *offsets):
        assert exitance * element_to_disk(radius, depth, x) == by_chance(answer.sensor(f"level {x}"))
    for x in offsets[1:]:
        # Element in a plane square to the disc's (B-13).
        h, r = depth / x, radius / x
        z = 1 + h * h + r * r
        expected = exitance * 0.5 * h * (z / sqrt(z * z - 4 * r * r) - 1)
        assert expected == by_chance(answer.sensor(f"upright {x}"))


def two_long_cylinders(r1: float, r2: float, gap: float) -> float:
    """From an endless cylinder to another, parallel to it (C-68)."""
    r, c = r2 / r1, 1 + r2 / r1 + gap / r1
    roots = sqrt(c * c - (r + 1) ** 2) - sqrt(c * c - (r - 1) ** 2)
    return (pi + roots + (r - 1) * acos((r - 1) / c) - (r + 1) * acos((r + 1) / c)) / (2 * pi)


@pytest.mark.parametrize(("r1", "r2", "gap"), [(0.013, 0.02, 0.03), (0.008, 0.008, 0.002)])
def test_two_long_cylinders(r1: float, r2: float, gap: float, tmp_path: Path) -> None:
    histories, apart = 500_000, r1 + r2 + gap
    ends = (-LONG / 2, 0.0, 0.0), (LONG / 2, 0.0, 0.0)
    below: tuple[Triple, Triple] = (-LONG / 2, 0.0, -apart), (LONG / 2, 0.0, -apart)
    blocks = tube(*ends, r1, 1.0), rod("rod", *below, r2)
    answer = traced_text(scene("Two rods", *blocks, histories=histories, receiver_size=5.0), tmp_path)
    expected = two_long_cylinders(r1, r2, gap)
    found = share(answer.absorbed("rod"), histories)
    assert expected == pytest.approx(found.value, abs=4.0 * found.se + expected * apart / LONG)


def test_long_cylinder_to_a_parallel_strip(tmp_path: Path) -> None:
    depth, near, far, histories = 0.1, 0.03, 0.25, 500_000
    strip = plate("strip", (-LONG / 2, near, -depth), (LONG, 0, 0), (0, far - near, 0))
    lamp = tube((-LONG / 2, 0, 0), (LONG / 2, 0, 0), 0.013, 1.0)
    answer = traced_text(scene("A strip", lamp, strip, histories=histories, receiver_size=2.0), tmp_path)
    # The angle under which the axis sees the strip, over a whole turn (C-65).
    expected = (atan(far / depth) - atan(near / depth)) / (2 * pi)
    found = share(answer.absorbed("strip"), histories)
    assert expected == pytest.approx(found.value, abs=4.0 * found.se + expected * far / LONG)


def outer_to_inner(inner: float, outer: float, length: float) -> float:
    """From a cylinder to a shorter one within it, both of a length and on one axis (C-91)."""
    x, h = outer / inner, length / inner
    a, b = h * h + x * x - 1, h * h - x * x + 1
    angles = sqrt((a + 2) ** 2 - 4 * x * x) * acos(b / (x * a)) + b * asin(1 / x) - 0.5 * pi * a
    return 1 / x - (acos(b / a) - angles / (2 * h)) / (pi * x)


@pytest.mark.parametrize(("inner", "outer", "length"), [(0.02, 0.08, 0.2), (0.013, 0.05, 0.06)])
def test_lamp_in_an_open_pipe(inner: float, outer: float, length: float, tmp_path: Path) -> None:
    angle = 2 * pi * np.arange(SIDES) / SIDES
    reach = outer * sqrt(2 * pi / SIDES / np.sin(2 * pi / SIDES))
    ring = np.stack([np.zeros(SIDES), reach * np.cos(angle), reach * np.sin(angle)], axis=1)
    i = np.arange(SIDES)
    j = (i + 1) % SIDES
    faces = np.concatenate([np.stack([i, i + SIDES, j + SIDES], axis=1), np.stack([i, j + SIDES, j], axis=1)])
    trimesh.Trimesh(np.vstack([ring, ring + np.array([length, 0, 0])]), faces, process=False).export(
        tmp_path / "pipe.stl"
    )
    pipe = '[[parts]]\nname = "pipe"\nkind = "mesh"\nfile = "pipe.stl"\nunit = "m"\nlaw = "black"'
    lamp, histories = tube((0, 0, 0), (length, 0, 0), inner, 1.0), 500_000
    answer = traced_text(scene("A pipe", lamp, pipe, histories=histories), tmp_path)
    expected = outer_to_inner(inner, outer, length) * outer / inner
    found = share(answer.absorbed("pipe"), histories)
    # Polygons of 512 and of 192 sides stand for the circles.
    assert expected == pytest.approx(found.value, abs=4.0 * found.se + 1e-4)
    assert answer.energy("escaped_W") == pytest.approx(1.0 - found.value, abs=1e-9)
