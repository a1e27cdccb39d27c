"""A lamp of a millimetre behind panes: what passes a pile of plates with all that goes to and fro between them.

G. G. Stokes, "On the intensity of the light reflected from or transmitted through a pile of plates", Proc. R. Soc.
Lond. 11:545, 1862: of m surfaces, each of which returns r of the light, (1 - r) / (1 + (m - 1) r) passes. The panes
stand so close that ways to and fro are hardly longer. No path hits a lamp as small as that. Four standard errors.
"""

import math

import pytest

from tests.analytic.test_kaleidoscope import irradiance
from tests.support.mirror_light import DOWN, mirror
from tests.support.scene_blocks import Triple, matt, plate, point, scene, spot

N = 1.5
R = ((N - 1) / (N + 1)) ** 2
PANE = f'{{ kind = "sheet", n = {N}, k = 0, thickness = "3 mm" }}'
GAP, FAR = 1e-3, 1.0


def level(name: str, height: float, law: str = PANE, side: float = 2.0) -> str:
    return plate(name, (-side / 2, -side / 2, height), (side, 0, 0), (0, side, 0), law)


def pile(panes: int) -> list[str]:
    return [level(f"pane {number}", 0.5 + GAP * number) for number in range(panes)]


def passes(panes: int) -> float:
    return (1 - R) / (1 + (2 * panes - 1) * R)


@pytest.mark.parametrize("panes", [1, 2, 3, 4])
@pytest.mark.parametrize("diameter", [1e-3, 3e-2])
def test_a_pile_of_plates(panes: int, diameter: float) -> None:
    lamp = spot((0, 0, FAR), DOWN, diameter)
    bare, _ = irradiance(scene("Bare", lamp, point("meter", (0, 0, 0)), histories=1))
    value, se = irradiance(scene("Panes", lamp, *pile(panes), point("meter", (0, 0, 0)), histories=1))
    assert se < 1e-3 * bare
    # What goes to and fro once, 0.006 of the light, has come 2 mm more to each gap.
    assert passes(panes) == pytest.approx(value / bare, abs=4.0 * se / bare + 6e-5)


def test_a_pane_sends_light_back_to_a_meter_that_faces_it() -> None:
    """Straight light comes from behind: the meter reads the one image alone."""
    lamp, at = spot((0, 0, 0.5), DOWN, 1e-3), point("meter", (0.1, 0, 0.5), (0, 0, -1))
    value, se = irradiance(scene("A pane", lamp, level("pane", 0.0), at, histories=1))
    expected = 2 * R / (1 + R) / (math.pi * 1.0**2)
    # Cosines to the fourth over 0.1 m aside, and a pane returns a hair more than at normal incidence.
    assert expected * (1 + 0.01) ** -2 == pytest.approx(value, rel=2e-3, abs=4.0 * se)


def test_between_a_pane_and_a_mirror() -> None:
    """Each turn at both brings the lamp's image farther off: a sum over images."""
    back, passed = 2 * R / (1 + R), (1 - R) / (1 + R)
    x: Triple = (0.02, 0.0, 0.0)
    ways = [(0.9 * back) ** order * passed / (math.pi * (1.0 + 2.0 * order) ** 2) for order in range(20)]
    lamp = spot((0, 0, 1.0), DOWN, 1e-3)
    text = scene("Both", lamp, level("pane", 0.3), level("mirror", 1.3, mirror(0.9)), point("meter", x), histories=1)
    value, se = irradiance(text)
    # The lamp's own body, a black disc as large as its light, hides nothing from 2 cm aside.
    assert se < 1e-3 * value
    assert sum(ways) == pytest.approx(value, rel=1.2e-3, abs=4.0 * se)


def test_light_off_a_floor_that_panes_light() -> None:
    """What two panes send to and fro is seen on a matt plate below them as well, by paths that meet it."""
    lamp, floor = spot((0, 0, FAR), DOWN, 1e-3), level("floor", 0.0, matt(0.8), 0.1)
    meter = point("meter", (0, 0, 0.02), (0, 0, -1))
    bare, se_bare = irradiance(scene("Bare", lamp, floor, meter, histories=1), 8192)
    value, se = irradiance(scene("Panes", lamp, floor, *pile(2), meter, histories=1), 8192)
    error = math.hypot(se / bare, value * se_bare / bare**2)
    assert error < 6e-4
    # The panes return 0.0005 of what the plate sends up to them.
    assert passes(2) == pytest.approx(value / bare, abs=4.0 * error + 5e-4)
