"""Lengths and areas as readers want to see them, in centimetres or in inches; files stay in metres."""

import re
from dataclasses import dataclass
from typing import Literal

from sim.analysis.numbers import plain

System = Literal["metric", "inch"]

_STATED = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) cm(?![\w²2])")


@dataclass(frozen=True)
class LengthUnit:
    """A unit that lengths are shown in.

    Attributes
    ----------
    symbol : str
    per_metre : float
        How many of it make a metre, exactly: an inch is 25.4 mm by definition.
    places : int
        Decimals that tell a length to about a millimetre.
    """

    symbol: str
    per_metre: float
    places: int

    @property
    def square(self) -> str:
        """Symbol of the area."""
        return f"{self.symbol}²"

    def of(self, metres: float) -> float:
        """Return a length in this unit."""
        return metres * self.per_metre

    def of_area(self, square_metres: float) -> float:
        """Return an area in the square of this unit."""
        return square_metres * self.per_metre**2

    def area(self, square_metres: float) -> str:
        """Return an area without its symbol, with three figures where it is below one of the unit."""
        found = self.of_area(square_metres)
        return plain(found) if found < 1.0 else f"{found:.{self.places - 1}f}"

    def number(self, metres: float) -> str:
        """Return a length to about a millimetre, without its symbol."""
        return f"{self.of(metres):.{self.places}f}"

    def words(self, metres: float) -> str:
        """Return ``"48.8 cm"`` or ``"19.21 in"``."""
        return f"{self.number(metres)} {self.symbol}"

    def short(self, metres: float) -> str:
        """Return ``"30 cm"`` or ``"11.8 in"``, four figures without trailing zeros: for lengths that somebody chose."""
        return f"{self.of(metres):.4g} {self.symbol}"

    def restated(self, text: str) -> str:
        """Return a sentence whose lengths, which the program writes in centimetres, are in this unit.

        Results keep sentences on how a lamp's power was found, ``"solved from its reading at 30 cm"``.
        """
        if self == CENTIMETRES:
            return text
        return _STATED.sub(lambda found: self.short(float(found[1]) / CENTIMETRES.per_metre), text)


CENTIMETRES = LengthUnit("cm", 100.0, 1)
INCHES = LengthUnit("in", 1.0 / 0.0254, 2)
UNITS: dict[System, LengthUnit] = {"metric": CENTIMETRES, "inch": INCHES}
"""By what a reader asks for."""
