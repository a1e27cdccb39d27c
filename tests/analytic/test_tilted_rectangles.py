"""Rectangles that meet at an angle, and meters whose own horizon cuts the lamp, by Lambert's polygon formula.

J. R. Howell, A Catalog of Radiation Configuration Factors, section on contour integration and C-16. Four standard
errors (a right program fails once in 16,000).
"""

from math import cos, pi, radians, sin, sqrt
from pathlib import Path

import numpy as np
import pytest

from sim.geometry.mesh import FloatArray
from tests.support.answers import Reading, by_chance, traced_text
from tests.support.scene_blocks import panel, plate, point, scene

HISTORIES = 500_000


def above(corners: FloatArray, normal: FloatArray) -> FloatArray:
    """Return the part of a polygon above the plane through the origin, (k, 3)."""
    kept: list[FloatArray] = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        p, q = float(a @ normal), float(b @ normal)
        if p >= 0.0:
            kept.append(a)
        if p * q < 0.0:
            kept.append(a + (b - a) * p / (p - q))
    return np.array(kept)


def polygon_factor(corners: FloatArray, normal: FloatArray) -> float:
    """From a small element at the origin to a polygon above its plane: Lambert's formula."""
    total = 0.0
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        across = np.cross(a, b)
        length = float(np.linalg.norm(across))
        if length > 0.0:
            total += float(np.arctan2(length, a @ b)) * float(across @ normal) / length
    return abs(total) / (2 * pi)


def wedge(width: float, other: float, edge: float, angle: float) -> float:
    """From a rectangle to one that leans from their common edge, by quadrature that is fine next to the edge."""
    corners = np.array([(0, 0, 0), (0, edge, 0), (0, edge, 0), (0, 0, 0)]) + np.outer(
        [0, 0, other, other], [cos(angle), 0, sin(angle)]
    )
    nodes, weights = np.polynomial.legendre.leggauss(40)
    share, weights = 0.5 * (nodes + 1.0), 0.5 * weights
    up = np.array([0.0, 0.0, 1.0])
    return float(
        sum(
            2.0 * s * ws * wt * polygon_factor(corners - np.array([width * s * s, edge * t, 0.0]), up)
            for s, ws in zip(share, weights, strict=True)
            for t, wt in zip(share, weights, strict=True)
        )
    )


def test_a_right_angle_is_the_published_number() -> None:
    assert wedge(1.0, 1.0, 1.0, pi / 2) == pytest.approx(0.200043776, rel=1e-5)


@pytest.mark.parametrize("degrees", [30, 60, 120, 150])
def test_rectangles_with_a_common_edge(degrees: int, tmp_path: Path) -> None:
    angle, width, other, edge = radians(degrees), 0.5, 0.4, 0.7
    leaning = plate("leaning", (0, 0, 0), (other * cos(angle), 0, other * sin(angle)), (0, edge, 0))
    lamp = panel((0, 0, 0), (width, 0, 0), (0, edge, 0), 1.0)
    found = traced_text(scene("A wedge", lamp, leaning, histories=HISTORIES), tmp_path).absorbed("leaning")
    reading = Reading(found, sqrt(found * (1 - found) / HISTORIES))
    assert wedge(width, other, edge, angle) == by_chance(reading, resolution=0.02)


def test_meters_whose_horizon_cuts_the_lamp(tmp_path: Path) -> None:
    corners = np.array([(-0.2, -0.3, 0.3), (0.5, -0.3, 0.3), (0.5, 0.4, 0.3), (-0.2, 0.4, 0.3)])
    normals = np.array([(1, 0, 0.3), (-1, 0, 0.2), (0.5, -1, 0), (-0.3, 0.9, -0.2)])
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    meters = [point(f"meter {i}", (0, 0, 0), (n[0], n[1], n[2])) for i, n in enumerate(normals)]
    lamp = panel((-0.2, -0.3, 0.3), (0, 0.7, 0), (0.7, 0, 0), 0.49)
    answer = traced_text(scene("Tilted meters", lamp, *meters, histories=200_000), tmp_path)
    for i, normal in enumerate(normals):
        assert polygon_factor(above(corners, normal), normal) == by_chance(answer.sensor(f"meter {i}"))
