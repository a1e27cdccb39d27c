"""A result whose quantity and lamps are changed while it is looked at; what is shown follows without a trace."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from sim.analysis.coverage import SceneAnswer, answer
from sim.analysis.dimming import lamp_parts
from sim.analysis.narrowing import narrowed
from sim.analysis.numbers import with_error
from sim.analysis.selection import Part, Selection
from sim.tally.result import FloatArray, Result
from sim.tally.statistics import Estimate, PartsEstimate, t_factor
from viewer.layers import ROW, layers
from viewer.pointing import Pointed, Scenery
from viewer.scale import Scale, scale_for


class LiveResult:
    """A result at levels that change.

    Parameters
    ----------
    shown : Selection
        What is shown at first.
    """

    def __init__(self, shown: Selection) -> None:
        self.result = shown.result
        self.quantity = shown.quantity
        self.part: Part = shown.part
        self.levels: tuple[float, ...] = shown.levels or (1.0,) * len(shown.result.lamps)
        self._parts: dict[str, PartsEstimate] = {}
        self._scales: dict[tuple[str, Part], Scale] = {}

    def change(
        self, quantity: str | None = None, part: Part | None = None, levels: Sequence[float] | None = None
    ) -> None:
        """Show something else; what is left out stays as it is."""
        self.quantity = self.quantity if quantity is None else quantity
        self.part = self.part if part is None else part
        self.levels = self.levels if levels is None else tuple(float(level) for level in levels)

    @cached_property
    def whole(self) -> Selection:
        """The result at the levels that were traced."""
        return Selection(self.result)

    @property
    def scale(self) -> Scale:
        """The scale of what is shown: that of the levels traced, so that a lamp that is dimmed shows as darker."""
        key = (self.quantity, self.part)
        if key not in self._scales:
            self._scales[key] = scale_for(Selection(self.result, self.quantity, None, self.part))
        return self._scales[key]

    @property
    def found(self) -> Estimate:
        """Mean and standard error of every receiver at the levels of now, (receiver,)."""
        if self.quantity not in self._parts:
            self._parts[self.quantity] = lamp_parts(self.result, self.quantity)
        return self._parts[self.quantity].mixed(self.levels)

    def cells(self) -> FloatArray:
        """Return what the cells of all maps show, in the order of `viewer.layers.layers`."""
        found = self.found
        return (found.mean if self.part == "value" else found.se)[self._rows]

    @cached_property
    def _rows(self) -> "np.ndarray[tuple[int], np.dtype[np.int64]]":
        maps = [layer for layer in layers(self.whole) if layer.role == "map"]
        rows = [np.asarray(layer.mesh.cell_data[ROW], dtype=np.int64) for layer in maps]
        return np.concatenate([np.zeros(0, dtype=np.int64), *rows])

    @cached_property
    def scenery(self) -> Scenery:
        """What can be pointed at."""
        return Scenery(self.result, layers(self.whole))

    def reading(self, pointed: Pointed | None) -> tuple[str, str]:
        """Return what is told of a place that is pointed at: its number and its name and position."""
        if pointed is None:
            return "nothing that is read", ""
        if pointed.row is None:
            return pointed.words, pointed.place
        found = self.found
        value, error = float(found.mean[pointed.row]), float(found.se[pointed.row])
        half = t_factor(found.replicates) * error
        return f"{with_error(value, half)} {self.unit}".rstrip(), pointed.place

    @property
    def unit(self) -> str:
        """Unit of the quantity, empty for a pure number."""
        return Selection(self.result, self.quantity).unit

    def told(self) -> SceneAnswer:
        """Return zones with verdicts, the brightest place and hot spots at the levels of now; surfaces are left out."""
        return answer(self._judged, self.levels)

    @cached_property
    def _judged(self) -> Result:
        kinds = ("zone", "reach")
        return narrowed(self.result, [group for group in self.result.groups if group.kind in kinds])
