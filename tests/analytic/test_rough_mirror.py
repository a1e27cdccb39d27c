"""A rough mirror in a narrow beam: what falls on rings over it, and what its facets keep.

B. Walter et al., Microfacet models for refraction through rough surfaces, EGSR 2007, equations 20, 33 and 34: single
scattering off GGX facets with Smith shadowing, by quadrature. The shares of photons count as right within four standard
errors (a right program fails once in 16,000).
"""

from itertools import pairwise
from math import cos, pi, radians, sqrt, tan
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.integrate import quad

from tests.support.answers import Reading, by_chance, traced_text
from tests.support.scene_blocks import plate, scene, spot

HISTORIES = 500_000
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


def returned(alpha: float, low: float, high: float) -> float:
    """Share of light from straight above that leaves between two angles from the normal [rad]."""

    def intensity(angle: float) -> float:
        h = cos(angle / 2)
        density = alpha**2 / (pi * (h * h * (alpha**2 - 1) + 1) ** 2)
        unshaded = 2 / (1 + sqrt(1 + (alpha * tan(angle)) ** 2))
        return density * unshaded / 4 * 2 * pi * np.sin(angle)

    return float(quad(intensity, low, high, limit=200)[0])


@pytest.mark.parametrize("alpha", [0.1, 0.3, 0.6])
def test_beam_from_straight_above(alpha: float, tmp_path: Path) -> None:
    law = f'{{ kind = "glossy", reflectance = 1.0, specular_share = 1.0, roughness = {alpha} }}'
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
    shares = {str(low): returned(alpha, radians(low), radians(high)) for low, high in pairwise(RINGS)}
    shares["p"] = 1.0 - returned(alpha, 0.0, pi / 2 - 1e-9)
    for name, expected in shares.items():
        found = answer.absorbed(name)
        assert expected == by_chance(Reading(found, sqrt(found * (1 - found) / HISTORIES)), resolution=0.02)
