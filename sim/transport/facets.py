"""Light that left a rough mirror by more than one of its facets; `sim.materials.facets` tells the law and its source.

`facets` is a row of `Laws.facets`. Of n cells between its cosines the k-th, from 0, holds the part (2 k + 1) / n^2 of
the light, so that the root of a uniform number finds it, and cells are small where little light leaves, near grazing
directions. In a cell the density is taken as linear, scaled to that part.
"""

import math

from sim.transport.arrays import COSINES, F64, SHARE
from sim.transport.jit import helper
from sim.transport.sampling import TWO_PI, circle


@helper
def _cell(facets: F64, cell: int) -> tuple[int, float, float, float, float]:
    """Return how many cells there are, and the ends of one with the densities there."""
    nodes = (len(facets) - COSINES) // 2
    at = COSINES + cell
    return nodes - 1, facets[at], facets[at + 1], facets[at + nodes], facets[at + nodes + 1]


@helper
def sample_multiple(facets: F64, u1: float, u2: float) -> tuple[float, float, float]:
    """Return a direction in which light leaves after several facets, whatever the one in which it came."""
    cells = (len(facets) - COSINES) // 2 - 1
    at = math.sqrt(u1) * cells
    cell = min(int(at), cells - 1)
    part = (at * at - cell * cell) / (2 * cell + 1)
    _, low, high, a, b = _cell(facets, cell)
    z = low + (high - low) * part * (a + b) / (a + math.sqrt(a * a + (b * b - a * a) * part))
    r = math.sqrt(max(0.0, 1.0 - z * z))
    cosine, sine = circle(u2)
    return r * cosine, r * sine, z


@helper
def pdf_multiple(facets: F64, z: float) -> float:
    """Return the density per steradian of `sample_multiple` at cosine `z`."""
    if z <= 0.0:
        return 0.0
    cell, end = 0, (len(facets) - COSINES) // 2 - 1
    while end - cell > 1:
        middle = (cell + end) // 2
        if facets[COSINES + middle] <= z:
            cell = middle
        else:
            end = middle
    cells, low, high, a, b = _cell(facets, cell)
    density = a + (b - a) * (z - low) / (high - low)
    return density / (0.5 * (a + b) * (high - low)) * (2 * cell + 1) / (cells * cells * TWO_PI)


@helper
def eval_multiple(facets: F64, z: float, oz: float) -> float:
    """Return the BRDF of light by several white facets, per steradian, from cosine `z` to cosine `oz`."""
    if z <= 0.0 or oz <= 0.0:
        return 0.0
    return math.pi * facets[SHARE] * pdf_multiple(facets, z) * pdf_multiple(facets, oz) / (z * oz)
