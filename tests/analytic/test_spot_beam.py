"""A spot by its beam angle, the law cos^n: inverse square of the distance, and half the intensity at half the angle.

Photometric distance law, as in any handbook of lighting. From a small aperture nothing is left to chance; the tolerance
is for the table of the law, which is linear between its angles.
"""

from math import cos, log, pi, radians, tan
from pathlib import Path

import pytest

from tests.support.answers import traced_text
from tests.support.scene_blocks import point, scene, spot


@pytest.mark.parametrize("degrees", [10, 40, 90, 120])
def test_inverse_square_and_half_angle(degrees: int, tmp_path: Path) -> None:
    half = radians(degrees / 2)
    exponent = log(0.5) / log(cos(half))
    peak = 2.0 * (exponent + 1) / (2 * pi)
    aside = (tan(half), 0.0, -1.0)
    meters = [point(f"{d} m", (0, 0, -d)) for d in (1.0, 10.0, 100.0)]
    meters += [point("level", aside), point("facing", aside, (-aside[0], 0, 1)), point("away", (0, 0, -1), (0, 0, -1))]
    lamp = spot((0, 0, 0), (0, 0, -1), 0.001, f'beam = "{degrees} deg"', power=2.0)
    answer = traced_text(scene("A beam", lamp, *meters, histories=64), tmp_path)
    for d in (1.0, 10.0, 100.0):
        assert answer.sensor(f"{d} m").value == pytest.approx(peak / d**2, rel=2e-4)
    assert answer.sensor("level").value == pytest.approx(0.5 * peak * cos(half) ** 3, rel=2e-4)
    assert answer.sensor("facing").value == pytest.approx(0.5 * peak * cos(half) ** 2, rel=2e-4)
    assert answer.sensor("away").value == 0.0
