"""A lamp of a tenth of a millimetre over a glossy plate, seen by points: the lobe integrated over the plate.

Sources stand in `tests.support.lobe_light`. No path ever runs into such a lamp: what is read was looked for.
"""

import math

import numpy as np
import pytest
from scipy.stats import t

from sim.simulate.tallies import REPLICATES
from sim.tally.statistics import estimate
from tests.support.lobe_light import by_plate, glossy, law
from tests.support.mirror_light import DOWN
from tests.support.scene_blocks import Triple, plate, point, scene, spot
from tests.support.setups import group_values, setup_of
from tests.support.significance import sidak

FALSE_ALARM = 0.001
"""Significance of all comparisons together."""
LAMP: Triple = (-0.15, 0.0, 0.3)
POINTS: tuple[Triple, ...] = ((-0.05, 0.0, 0.3), (0.15, 0.1, 0.3), (0.3, 0.0, 0.2), (-0.3, 0.2, 0.15))
"""About the mirror direction and far off it, on the lamp's side and beyond."""
SIDE = 1.2
LAWS = [(0.9, 1.0, 0.1), (0.9, 1.0, 0.2), (0.8, 0.6, 0.3), (0.9, 1.0, 0.5), (0.7, 0.8, 1.0)]


@pytest.mark.parametrize(("reflectance", "share", "alpha"), LAWS)
def test_points_read_the_integral_over_the_plate(reflectance: float, share: float, alpha: float) -> None:
    corner = (-0.5 * SIDE, -0.5 * SIDE, 0.0)
    text = scene(
        "A spot over a glossy plate",
        spot(LAMP, DOWN, 1e-4),
        plate("sheen", corner, (SIDE, 0, 0), (0, SIDE, 0), glossy(reflectance, share, alpha)),
        *(point(f"meter {row}", at, DOWN) for row, at in enumerate(POINTS)),
        histories=1,
    )
    result = setup_of(text).result(8000, 3)
    limit = float(t.isf(0.5 * sidak(FALSE_ALARM, len(LAWS) * len(POINTS)), REPLICATES - 1))
    for row, at in enumerate(POINTS):
        truth = by_plate(LAMP, at, SIDE, lambda wi, wo: law(reflectance, share, alpha, wi, wo))
        found = estimate(group_values(result, "sensor", f"meter {row}").sum(axis=(1, 2)))
        assert abs(float(found.mean) - truth) < limit * float(found.se)
        assert float(found.se) < 0.02 * truth


def test_the_integral_is_that_of_a_mirror_where_the_lobe_is_narrow() -> None:
    """The image of a small lamp: 1 / (pi d^2) of it, cosines allowed for."""
    x = (0.15, 0.1, 0.3)
    way = np.array(x) - np.array([LAMP[0], LAMP[1], -LAMP[2]])
    image = way[2] ** 2 / (math.pi * float(way @ way) ** 2)
    assert by_plate(LAMP, x, SIDE, lambda wi, wo: law(1.0, 1.0, 0.03, wi, wo)) == pytest.approx(image, rel=0.01)
