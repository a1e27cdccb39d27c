"""Whether a flat receiver crosses or touches the lit faces of a lamp.

There its straight light has no finite variance by rays to evenly spread points of the lamp: both ends of a ray come
together along a line, and so the error told was too small. Points share that light with paths that set out by the
cosine law, which find a lamp close by well (`sim.transport.direct`). So such a receiver is read as points are, and
photons that cross it are not counted.
"""

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.transport.arrays import Emitters

NEAR = 0.02
"""How near is as good as touching, over the shorter edge of a cell."""
PARALLEL = 0.98
"""Cosine above which a face lies along the plane: then what is close is seen from everywhere, and nothing scatters."""
MOST_STEPS = 64
"""Points along an edge of a face that are looked at."""


def touches_lamp(outline: FloatArray, shape: tuple[int, int], emitters: Emitters) -> bool:
    """Return whether a grid comes as near as touching to lit faces that are askew to it.

    Parameters
    ----------
    outline : (3, 3) float [m]
        Corner and edges of the grid, at right angles.
    shape : (int, int)
        Its cells along both edges.
    emitters : Emitters
    """
    u, v = outline[1:]
    lengths = np.linalg.norm(u), np.linalg.norm(v)
    near = NEAR * min(float(lengths[0]) / shape[0], float(lengths[1]) / shape[1])
    across = np.cross(u, v) / (lengths[0] * lengths[1])
    one, two = emitters.edge1, emitters.edge2
    middle, reach = (
        emitters.corner + 0.5 * (one + two),
        0.5 * (np.linalg.norm(one, axis=1) + np.linalg.norm(two, axis=1)),
    )
    askew = np.abs(emitters.normal @ across) < PARALLEL
    for row in np.flatnonzero(askew & (_distances(middle, outline) <= reach + near)):
        steps = int(np.clip(np.ceil(2.0 * reach[row] / near), 2, MOST_STEPS))
        share = np.linspace(0.0, 1.0, steps)
        s, t = (part.ravel()[:, None] for part in np.meshgrid(share, share))
        points = emitters.corner[row] + s * one[row] + t * two[row]
        if _distances(points, outline).min() <= max(near, reach[row] / (steps - 1)):
            return True
    return False


def _distances(points: FloatArray, outline: FloatArray) -> FloatArray:
    """Return how far points, (n, 3), lie from a rectangle, (n,) [m]."""
    corner, u, v = outline
    way = points - corner
    s, t = (np.clip(way @ edge / (edge @ edge), 0.0, 1.0)[:, None] for edge in (u, v))
    distances: FloatArray = np.linalg.norm(way - s * u - t * v, axis=1)
    return distances
