"""Light that falls at an angle: Fresnel's equations and the law of Beer and Lambert through a whole scene.

M. Born, E. Wolf, Principles of Optics, sections 1.5 and 14.2, with both polarisations averaged and all inner
reflections of a pane added by power. Meters behind panes leave nothing to chance; the tolerance is for the width of
the beam and the table by angle. Absorbed shares count as right within
four standard errors (a right program fails once in 16,000).
"""

import cmath
from math import cos, exp, pi, radians, sin, sqrt
from pathlib import Path

import pytest

from tests.support.answers import Reading, by_chance, traced_text
from tests.support.scene_blocks import Triple, plate, point, scene, spot

WAVELENGTH = 320e-9
LINE = 'spectrum = { lines = [{ at = "320 nm" }] }'
NARROW = 'beam = "1 deg"'


def reflectances(angle: float, index: complex) -> tuple[float, float]:
    """Of an interface from air, for s and p."""
    c, t = cos(angle), cmath.sqrt(1 - (sin(angle) / index) ** 2)
    return abs((c - index * t) / (c + index * t)) ** 2, abs((index * c - t) / (index * c + t)) ** 2


def transmittance(angle: float, n: float, k: float, thickness: float) -> float:
    """Of a pane."""
    path = thickness / sqrt(1 - (sin(angle) / n) ** 2)
    passed = exp(-4 * pi * k * path / WAVELENGTH)
    return sum((1 - r) ** 2 * passed / (1 - (r * passed) ** 2) for r in reflectances(angle, n)) / 2


def leaning(angle: float, half: float, law: str) -> str:
    """A plate through the origin, its normal at an angle to the beam that comes down."""
    u: Triple = (2 * half * cos(angle), 0.0, -2 * half * sin(angle))
    return plate("plate", (-u[0] / 2, -half, -u[2] / 2), u, (0, 2 * half, 0), law)


@pytest.mark.parametrize(
    ("n", "k", "thickness"), [(1.5, 0.0, 0.004), (1.33, 2e-5, 0.002), (1.0, 2e-5, 0.003), (1.7, 1e-6, 0.01)]
)
@pytest.mark.parametrize("degrees", [0, 60, 80])
def test_pane_in_a_beam(n: float, k: float, thickness: float, degrees: int, tmp_path: Path) -> None:
    """With an index of one nothing is reflected, and what is left is Beer and Lambert's law along the slanting path."""
    lamp, meter = spot((0, 0, 20), (0, 0, -1), 0.001, NARROW, light=LINE), point("meter", (0, 0, -0.5))
    law = f'{{ kind = "sheet", n = {n}, k = {k}, thickness = "{thickness!r} m" }}'
    bare = traced_text(scene("A beam", lamp, meter, histories=64), tmp_path).sensor("meter").value
    pane = leaning(radians(degrees), 0.01, law)
    found = traced_text(scene("A pane", lamp, pane, meter, histories=64), tmp_path).sensor("meter").value
    assert found / bare == pytest.approx(transmittance(radians(degrees), n, k, thickness), abs=2e-5)


@pytest.mark.parametrize("degrees", [0, 45, 70, 85])
def test_metal_in_a_beam(degrees: int, tmp_path: Path) -> None:
    histories, angle = 1_000_000, radians(degrees)
    lamp = spot((0, 0, 3), (0, 0, -1), 0.001, NARROW, light=LINE)
    metal = leaning(angle, 0.25 / cos(angle), '{ kind = "metal", n = 1.2, k = 2.5 }')
    text = scene("A metal", lamp, metal, histories=histories, receiver_size=10.0)
    found = traced_text(text, tmp_path).absorbed("plate")
    expected = 1.0 - sum(reflectances(angle, 1.2 - 2.5j)) / 2
    assert expected == by_chance(Reading(found, sqrt(found * (1 - found) / histories)))
