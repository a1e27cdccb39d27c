"""A grid that goes through a panel, or ends at it, against Lambert's formula for a polygon, integrated over its cells.

Rays to the panel alone scatter there without bound: the cells in its middle were a third off, and a third of their
intervals, too.
"""

import numpy as np
import pytest

from sim.tally.statistics import estimate
from tests.support.polygon_light import polygon_factors
from tests.support.scene_blocks import Triple, lengths, panel, scene
from tests.support.setups import setup_of

SIDE, ACROSS, UP = 0.2, 0.1, 0.1
"""The panel's side, and the cells' edges along it and square to it [m]."""
CELLS = 4
SEEN = np.array([[[0, 0, 0], [0, SIDE, 0], [SIDE, 0, 0]], [[SIDE, 0, 0], [0, SIDE, 0], [SIDE, SIDE, 0]]])
"""What of the panel, which shines down, lies before the grid."""


def below(depth: float) -> list[float]:
    """Mean irradiance over the cells of a row that hangs from the panel so deep, for an exitance of one."""
    nodes, weights = np.polynomial.legendre.leggauss(16)
    share, means = 0.5 * (nodes + 1.0), []
    for cell in range(CELLS):
        total = 0.0
        for y, wy in zip(ACROSS * (cell - 1 + share), 0.5 * weights, strict=True):
            # Towards the panel the light falls off like a logarithm: nodes are close there.
            for u, wu in zip(share, 0.5 * weights, strict=True):
                x = np.array([0.0, y, -depth * u**3])
                total += wy * 3.0 * u**2 * wu * float(polygon_factors(SEEN, x, np.array([1.0, 0.0, 0.0])).sum())
        means.append(total)
    return means


@pytest.mark.parametrize(("top", "rows", "left"), [(1.5 * UP, 3, -SIDE), (0.0, 1, -SIDE), (0.0, 1, 0.0)])
def test_a_grid_that_meets_a_panel(top: float, rows: int, left: float) -> None:
    """Through the panel, which goes on behind the grid; up to it; and up to its edge."""
    corner: Triple = (0.0, -ACROSS, top - rows * UP)
    grid = (
        f'[[sensors]]\nname = "grid"\nkind = "grid"\ncorner = {lengths(corner)}\n'
        f"edge_u = {lengths((0, CELLS * ACROSS, 0))}\nedge_v = {lengths((0, 0, rows * UP))}\ncells = [{CELLS}, {rows}]"
    )
    lamp = panel((left, 0, 0), (0, SIDE, 0), (SIDE - left, 0, 0), SIDE * (SIDE - left))
    result = setup_of(scene("Through a panel", grid, lamp, histories=1)).result(1_000, 3)
    cells = estimate(result.irradiance[:, result.group("sensor", "grid").rows].sum(axis=(2, 3), dtype=float))
    last = slice((1 if rows == 3 else 0) * CELLS, (2 if rows == 3 else 1) * CELLS)
    depth = UP / 2 if rows == 3 else UP
    expected = np.array(below(depth)) * depth / UP
    assert (cells.se[last] < 0.05 * expected).all()
    assert (np.abs(cells.mean[last] - expected) < 4.0 * cells.se[last] + 1e-3 * expected).all()
