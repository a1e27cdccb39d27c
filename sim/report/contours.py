"""Contours on a map: each with its value written once, on a place of its own."""

from collections.abc import Callable, Sequence
from typing import cast

import numpy as np
from contourpy import LineType, contour_generator
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection

from sim.analysis.numbers import plain
from sim.tally.result import FloatArray

HALO = {"boxstyle": "round,pad=0.12", "facecolor": "white", "edgecolor": "none", "alpha": 0.88}
"""Behind words on a map."""
_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9)


def draw_contours(  # noqa: PLR0913  # three are keywords
    axes: Axes,
    middles: tuple[FloatArray, FloatArray],
    values: FloatArray,
    levels: Sequence[float],
    colour_of: Callable[[float], str],
    *,
    least: float,
    apart: float,
    avoid: Sequence[FloatArray] = (),
    clear: float = 0.0,
) -> None:
    """Draw contours with one value each, on its longest piece.

    Parameters
    ----------
    axes : Axes
    middles : two of (n,) float
        Of the cells, across and up.
    values : (up, across) float
        May be masked.
    levels : sequence of float, ascending
    colour_of : callable
        Takes a level.
    least : float
        Pieces shorter than this are left out: islands of a few cells are noise.
    apart : float
        Least distance between two values; one without room is left out, for its line lies between two that have theirs.
    avoid : sequence of (2,) float
        Places that something else is written on.
    clear : float
        Least distance from these.
    """
    if not levels:
        return
    field = contour_generator(*middles, values, line_type=LineType.Separate)
    written: list[tuple[FloatArray, float]] = [(place, clear) for place in avoid]
    for level in levels:
        kept = [piece for piece in cast(list[FloatArray], field.lines(level)) if _length(piece) >= least]
        if not kept:
            continue
        axes.add_collection(LineCollection(kept, colors=colour_of(level), linewidths=1.0, zorder=3))
        at = _free_place(max(kept, key=_length), written)
        if at is not None:
            written.append((at, apart))
            axes.text(
                float(at[0]),
                float(at[1]),
                plain(level),
                fontsize=7.5,
                fontweight="bold",
                ha="center",
                va="center",
                bbox=HALO,
                zorder=5,
                clip_on=True,
            )


def _length(piece: FloatArray) -> float:
    return float(np.linalg.norm(np.diff(piece, axis=0), axis=1).sum())


def _free_place(piece: FloatArray, taken: Sequence[tuple[FloatArray, float]]) -> FloatArray | None:
    """Return a point of a line away from its ends and as far as each asks from all that is written, or None.

    Its middle if that will do.
    """
    for share in _SHARES:
        at: FloatArray = piece[round(share * (len(piece) - 1))]
        if all(float(np.linalg.norm(at - other)) > apart for other, apart in taken):
            return at
    return None
