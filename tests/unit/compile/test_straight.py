"""Which cells look at lamps themselves: those that are farther from each face than the lamp is large."""

import numpy as np

from tests.support.setups import setup_of

SCENE = """
title = "A box with a tube"
[enclosure]
size = ["50 cm", "40 cm", "30 cm"]
walls = { all = { kind = "lambertian", reflectance = 0.3 } }
[[lamps]]
name = "tube"
kind = "tube"
from = ["15 cm", "20 cm", "25 cm"]
to = ["35 cm", "20 cm", "25 cm"]
radius = "2 cm"
spectrum = "uva-phosphor-368"
output = { radiant = "1 W" }
[run]
receiver_size = "2 cm"
"""
RADIUS, LENGTH = 0.02, 0.2


def test_cells_near_a_tube_are_left_to_photons_and_all_others_look_at_it() -> None:
    compiled = setup_of(SCENE).compiled
    # From here on a disc of the distance's radius outdoes the area of the tube's mantle.
    reach = np.sqrt(2.0 * RADIUS * LENGTH)
    centre = compiled.centre[: compiled.cells]
    beside = np.maximum(np.abs(centre[:, 0] - 0.25) - 0.5 * LENGTH, 0.0)
    away = np.maximum(np.hypot(centre[:, 1] - 0.2, centre[:, 2] - 0.25) - RADIUS, 0.0)
    # Its sides are flat, and so a hair nearer to its axis than the cylinder.
    far, near = (np.hypot(beside, away) > reach, np.hypot(beside, away) < reach - 0.001 * RADIUS)
    straight = np.isin(np.arange(compiled.cells), compiled.straight)
    assert straight[far].all()
    assert not straight[near].any()
    assert near.any()
    assert far.any()
