"""A rough mirror in a narrow beam: what falls on rings over it, and what it keeps.

By one facet: B. Walter et al., Microfacet models for refraction through rough surfaces, EGSR 2007, equations 20, 33 and
34, with heights correlated (E. Heitz, JCGT 3(2), 2014). By several: C. Kulla, A. Conty, Revisiting physically based
shading at Imageworks, SIGGRAPH 2017 course. All by quadrature. The shares of photons count as right within four
standard errors (a right program fails once in 16,000).
"""

from collections.abc import Callable
from itertools import pairwise
from math import cos, pi, radians, sqrt, tan
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.integrate import quad
from scipy.interpolate import CubicSpline

from tests.support.answers import Reading, by_chance, traced_text
from tests.support.rings_of_light import rings
from tests.support.scene_blocks import plate, scene, spot

HISTORIES = 500_000
REFLECTANCE = 0.9
RINGS = (10.0, 20.0, 35.0, 50.0, 70.0)
"""Angles from the normal between which each ring lies [deg]."""
SIDES = 256


def ring(path: Path, inner: float, outer: float) -> None:
    """Write a flat ring between two polygons that have the areas of circles."""
    angle = 2 * pi * np.arange(SIDES) / SIDES
    circle = sqrt(2 * pi / SIDES / np.sin(2 * pi / SIDES)) * np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    i = np.arange(SIDES)
    j = (i + 1) % SIDES
    faces = np.concatenate([np.stack([i, i + SIDES, j + SIDES], axis=1), np.stack([i, j + SIDES, j], axis=1)])
    trimesh.Trimesh(np.vstack([inner * circle, outer * circle]), faces, process=False).export(path)


def intensity(alpha: float, angle: float) -> float:
    """Light from straight above that one facet sends to an angle [rad] from the normal, per radian."""
    h = cos(angle / 2)
    density = alpha**2 / (pi * (h * h * (alpha**2 - 1) + 1) ** 2)
    unshaded = 2 / (1 + sqrt(1 + (alpha * tan(angle)) ** 2))
    return float(density * unshaded / 4 * 2 * pi * np.sin(angle))


def by_one(alpha: float, low: float, high: float) -> float:
    """Share of light from straight above that leaves by one facet between two angles from the normal [rad]."""
    return float(quad(lambda angle: intensity(alpha, angle), low, high, limit=200)[0])


def missed(alpha: float, cosine: float, fine: int = 400) -> float:
    """Share of light at a cosine that one facet does not return, by the midpoint rule over all light that leaves."""
    out, angle = rings(cosine, fine)
    half = out + np.array([sqrt(1 - cosine**2), 0.0, cosine])
    h2 = half[..., 2] ** 2 / (half**2).sum(axis=-1)
    density = alpha**2 / (pi * (h2 * (alpha**2 - 1) + 1) ** 2)
    up = np.maximum(out[..., 2], 1e-9)
    unshaded = 2 / (sqrt(1 + alpha**2 * (1 / cosine**2 - 1)) + np.sqrt(1 + alpha**2 * (1 / up**2 - 1)))
    light = np.where(out[..., 2] > 0, density * unshaded / (4 * cosine), 0.0)
    return 1 - float((light * angle).sum())


def by_several(alpha: float) -> Callable[[float, float], float]:
    """Share of light from straight above that leaves by several facets between two angles [rad], as a function."""
    x, weights = np.polynomial.legendre.leggauss(48)
    root = 0.5 * (x + 1)
    parts = 2 * root * weights * root**2 * np.array([missed(alpha, m) for m in root**2])
    fall = CubicSpline(np.append(0.0, root), np.append(0.0, [missed(alpha, m) for m in root**2]))
    whole = missed(alpha, 1 - 1e-9) / parts.sum()

    def share(low: float, high: float) -> float:
        return float(quad(lambda t: whole * 2 * cos(t) * np.sin(t) * fall(sqrt(cos(t))), low, high, limit=200)[0])

    return share


@pytest.mark.parametrize("alpha", [0.1, 0.3, 0.6])
def test_beam_from_straight_above(alpha: float, tmp_path: Path) -> None:
    law = f'{{ kind = "glossy", reflectance = {REFLECTANCE}, specular_share = 1.0, roughness = {alpha} }}'
    blocks = [
        spot((0, 0, 0.01), (0, 0, -1), 5e-4, 'beam = "2 deg"'),
        plate("p", (-1, -1, 0), (2, 0, 0), (0, 2, 0), law),
    ]
    for low, high in pairwise(RINGS):
        ring(tmp_path / f"{low}.stl", tan(radians(low)), tan(radians(high)))
        blocks.append(
            f'[[parts]]\nname = "{low}"\nkind = "mesh"\nfile = "{low}.stl"\nunit = "m"\nlaw = "black"\n'
            'at = ["0 m", "0 m", "1 m"]'
        )
    answer = traced_text(scene("A rough mirror", *blocks, histories=HISTORIES, receiver_size=5.0), tmp_path)
    several = by_several(alpha)
    assert by_one(alpha, 0.0, pi / 2 - 1e-9) + several(0.0, pi / 2) == pytest.approx(1.0, abs=3e-4)
    shares = {"p": 1.0 - REFLECTANCE}
    for low, high in pairwise(np.radians(RINGS)):
        shares[f"{np.degrees(low):.1f}"] = REFLECTANCE * (by_one(alpha, low, high) + several(low, high))
    for name, expected in shares.items():
        found = answer.absorbed(name)
        assert expected == by_chance(Reading(found, sqrt(found * (1 - found) / HISTORIES)), resolution=0.02)
