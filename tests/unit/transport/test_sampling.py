"""Samplers at single points; how they are distributed is tested in tests/statistical/test_samplers.py."""

import math

import numpy as np
import pytest

from sim.transport.sampling import circle

pytestmark = pytest.mark.tiny


def test_points_of_a_circle() -> None:
    """Against the C library: within four roundings of one, at the ends, the eighths and in between."""
    turns = np.concatenate([np.linspace(0.0, 1.0, 9), np.random.Generator(np.random.PCG64(3)).random(500)])
    for u in turns.tolist():
        cosine, sine = circle(u)
        assert abs(cosine - math.cos(2.0 * math.pi * u)) < 2.0**-50
        assert abs(sine - math.sin(2.0 * math.pi * u)) < 2.0**-50
