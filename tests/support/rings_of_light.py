"""Directions about that in which a mirror sends light, for sums over the lobes of rough ones."""

import numpy as np
import numpy.typing as npt

F64 = npt.NDArray[np.float64]


def rings(cosine: float, fine: int) -> tuple[F64, F64]:
    """Directions (fine, fine, 3) over the whole sphere and the solid angle [sr] of each, by the midpoint rule.

    Light comes from (sine, 0, cosine). Rings lie by even steps of the third root of their width, which draws a sharp
    lobe out.
    """
    step = (np.arange(fine) + 0.5) / fine
    width, turn = np.pi * step**3, 2.0 * np.pi * step
    sine = np.sqrt(max(0.0, 1.0 - cosine**2))
    along, side, across = np.array([-sine, 0.0, cosine]), np.array([cosine, 0.0, sine]), np.array([0.0, 1.0, 0.0])
    round_it = np.cos(turn)[:, None] * side + np.sin(turn)[:, None] * across
    out = np.cos(width)[:, None, None] * along + np.sin(width)[:, None, None] * round_it
    angle = np.sin(width) * 3.0 * np.pi * step**2 / fine * 2.0 * np.pi / fine
    return out, np.repeat(angle[:, None], fine, axis=1)
