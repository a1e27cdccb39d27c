"""Which grids touch the lit faces of a lamp."""

import numpy as np
import pytest

from sim.compile.beside_lamps import touches_lamp
from sim.transport.arrays import F64
from tests.support.scene_blocks import panel, scene, tube
from tests.support.setups import setup_of

PANEL = panel((0, 0, 0), (0, 0.2, 0), (0.2, 0, 0), 1.0)
TUBE = tube((0, 0, 0), (0.4, 0, 0), 0.01, 1.0)


def grid(*rows: tuple[float, float, float]) -> F64:
    return np.array(rows)


@pytest.mark.parametrize(
    ("lamp", "outline", "touches"),
    [
        (PANEL, grid((0.1, -0.1, -0.1), (0, 0.4, 0), (0, 0, 0.2)), True),
        (PANEL, grid((0.1, -0.1, -0.1), (0, 0.4, 0), (0, 0, 0.1)), True),
        (PANEL, grid((0.1, -0.1, -0.11), (0, 0.4, 0), (0, 0, 0.1)), False),
        (PANEL, grid((0.21, -0.1, -0.1), (0, 0.4, 0), (0, 0, 0.2)), False),
        (PANEL, grid((-0.1, -0.1, -1e-4), (0.4, 0, 0), (0, 0.4, 0)), False),
        (TUBE, grid((0.2, -0.1, -0.1), (0, 0.2, 0), (0, 0, 0.2)), True),
        (TUBE, grid((0.0, -0.1, 0.0), (0.4, 0, 0), (0, 0.2, 0)), True),
        (TUBE, grid((0.0, -0.1, 0.02), (0.4, 0, 0), (0, 0.2, 0)), False),
    ],
)
def test_a_grid_by_a_lamp(lamp: str, outline: F64, touches: bool) -> None:
    emitters = setup_of(scene("A lamp", lamp, histories=1)).compiled.model.emitters
    assert touches_lamp(outline, (2, 2), emitters) == touches
