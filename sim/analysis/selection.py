"""Which numbers of a result are looked at: one quantity, its value or its error, at some levels of the lamps."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal, get_args

from sim.analysis.coverage import SceneAnswer, answer
from sim.analysis.maps import Maps
from sim.spectra.weighting import WEIGHTINGS
from sim.tally.result import FloatArray, Result
from sim.tally.statistics import Estimate, estimate

Part = Literal["value", "error"]
PARTS: tuple[Part, ...] = get_args(Part)


@dataclass(frozen=True, eq=False)
class Selection:
    """Numbers of a result, one a receiver.

    Attributes
    ----------
    result : Result
    quantity : str
        Name of a weighting, see `sim.spectra.weighting.WEIGHTINGS`.
    levels : tuple of float, optional
        Factors on the lamps' powers, one a lamp; all one where left out.
    part : Part
        The value itself, or its standard error.
    """

    result: Result
    quantity: str = "uvi"
    levels: tuple[float, ...] | None = None
    part: Part = "value"

    @property
    def maps(self) -> Maps:
        """Every quantity at these levels."""
        return self.told.maps

    @cached_property
    def told(self) -> SceneAnswer:
        """What the result says about its scene at these levels."""
        return answer(self.result, self.levels)

    @property
    def values(self) -> FloatArray:
        """The quantity, (replicate, receiver).

        Raises
        ------
        KeyError
            If there is no weighting of that name.
        """
        return self.maps.of(self.quantity)

    @cached_property
    def found(self) -> Estimate:
        """Mean and standard error of every receiver, (receiver,)."""
        return estimate(self.values)

    @property
    def numbers(self) -> FloatArray:
        """What is shown of every receiver, (receiver,) [unit]."""
        return self.found.mean if self.part == "value" else self.found.se

    @property
    def title(self) -> str:
        """The quantity in words."""
        title = WEIGHTINGS[self.quantity].title
        return title if self.part == "value" else f"{title}: standard error"

    @property
    def unit(self) -> str:
        """Unit as it is written in pictures, empty for a pure number."""
        return WEIGHTINGS[self.quantity].unit.replace("m2", "m²")

    @property
    def lamp_words(self) -> str:
        """Which lamps are not at their own level, ``"tube at 70 %, coil off"``; empty where all are."""
        if self.levels is None:
            return ""
        named = zip(self.result.lamps, self.levels, strict=True)
        return ", ".join(f"{lamp.name} {_level_words(level)}" for lamp, level in named if level != 1.0)


def _level_words(level: float) -> str:
    return "off" if level == 0.0 else f"at {100.0 * level:.3g} %"
