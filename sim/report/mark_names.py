"""Where the names of outlines stand on a map: within it, and clear of each other and of other words."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from sim.report.panels import Mark
from sim.tally.result import FloatArray

LETTER, LINE = 0.062, 0.15
"""Width of a letter and height of a line of a mark's name [in]: told, not measured, which takes far longer."""
STEP, CLEAR = 0.15, 0.2
"""Between the places of a box of words that other words keep away from, and how far away [in]."""


class Box(NamedTuple):
    """A rectangle that words take: its left and right, its lower and upper end."""

    across: tuple[float, float]
    up: tuple[float, float]

    @property
    def middle(self) -> tuple[float, float]:
        """Its middle."""
        return 0.5 * sum(self.across), 0.5 * sum(self.up)

    def meets(self, other: "Box") -> bool:
        """Return whether two boxes share more than an edge."""
        return all(a[0] < b[1] and b[0] < a[1] for a, b in zip(self, other, strict=True))

    def places(self, inches_per_unit: float) -> list[FloatArray]:
        """Return places all over the box, for other words to keep `CLEAR` of."""
        counts = [max(1, round((high - low) * inches_per_unit / STEP)) for low, high in self]
        middles = [low + (high - low) * (np.arange(n) + 0.5) / n for (low, high), n in zip(self, counts, strict=True)]
        return [np.array([across, up]) for across in middles[0] for up in middles[1]]


def name_boxes(
    marks: Sequence[Mark],
    across: tuple[float, float],
    up: tuple[float, float],
    inches_per_unit: float,
    taken: Sequence[Box],
) -> list[Box | None]:
    """Return where the name of each mark stands, or None where it finds no place.

    On the upper side of its outline, or where other words stand there on another side. A name that is wider than the
    map finds no place: it would lie on what stands beside it.

    Parameters
    ----------
    marks : sequence of Mark
    across, up : (float, float) [unit]
        Extent of the map; both ascend.
    inches_per_unit : float
        Its scale.
    taken : sequence of Box
        What other words take.
    """
    filled, boxes = list(taken), []
    for mark in marks:
        free = [box for box in _places(mark, across, up, inches_per_unit) if not any(map(box.meets, filled))]
        boxes.append(free[0] if free else None)
        filled += free[:1]
    return boxes


def _places(mark: Mark, across: tuple[float, float], up: tuple[float, float], inches_per_unit: float) -> Iterator[Box]:
    """Yield the places that a name may have within a map, the best first."""
    width, height = LETTER * (len(mark.name) + 1) / inches_per_unit, LINE / inches_per_unit
    if width > across[1] - across[0] or height > up[1] - up[0]:
        return
    low, high = mark.up
    # Over its upper side, within it, under its lower side, over that.
    for bottom in (high, high - height, low - height, low):
        for middle in (0.5 * sum(mark.across), mark.across[0] + 0.5 * width, mark.across[1] - 0.5 * width):
            left = min(max(middle - 0.5 * width, across[0]), across[1] - width)
            if up[0] <= bottom and bottom + height <= up[1]:
                yield Box((left, left + width), (bottom, bottom + height))
