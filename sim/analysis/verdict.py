"""Verdicts that know their error bars: inside the target, outside it, or too close to tell."""

import math
from dataclasses import dataclass
from typing import Literal

from sim.analysis.numbers import plain

Outcome = Literal["inside the target", "outside the target", "too close to tell", "no target"]
INSIDE: Outcome = "inside the target"
OUTSIDE: Outcome = "outside the target"
CLOSE: Outcome = "too close to tell"
NO_TARGET: Outcome = "no target"

MOST_USEFUL_FACTOR = 10_000.0
"""Above this many times the photons a number may as well sit on its bound."""


@dataclass(frozen=True)
class Interval:
    """A value and the interval that holds the truth with 95 % confidence (or more)."""

    value: float
    lower: float
    upper: float


@dataclass(frozen=True)
class Criterion:
    """One thing that a target asks for.

    Attributes
    ----------
    name : {"mean", "max", "share"}
    outcome : Outcome
    words : str
        A clause in plain words: what is so, next to what is asked.
    factor : float
        By how many times more photons would tell, if the value stays; 1 where it is told already.
    """

    name: Literal["mean", "max", "share"]
    outcome: Outcome
    words: str
    factor: float


@dataclass(frozen=True)
class Verdict:
    """All criteria of a zone together.

    Attributes
    ----------
    outcome : Outcome
        Outside if any criterion is outside, inside if all are inside, else too close to tell.
    criteria : tuple of Criterion
    """

    outcome: Outcome
    criteria: tuple[Criterion, ...]

    @property
    def deciding(self) -> tuple[Criterion, ...]:
        """The criteria that brought the outcome about; none where all is inside."""
        if self.outcome in (INSIDE, NO_TARGET):
            return ()
        return tuple(criterion for criterion in self.criteria if criterion.outcome == self.outcome)

    @property
    def photon_factor(self) -> float:
        """By how many times more photons would tell; 1 where it is told already, infinite on a bound."""
        return max((criterion.factor for criterion in self.deciding), default=1.0)

    @property
    def words(self) -> str:
        """The verdict as a sentence's middle: outcome, what brought it about, and what would tell."""
        if not self.deciding:
            return self.outcome
        text = f"{self.outcome}: {'; '.join(criterion.words for criterion in self.deciding)}"
        return f"{text}; {photons_wanted(self.photon_factor)}" if self.outcome == CLOSE else text


def photons_wanted(factor: float) -> str:
    """Return in words how many more photons would tell."""
    if factor > MOST_USEFUL_FACTOR:
        return "it sits on the bound, and more photons would hardly tell"
    rounded = math.ceil(factor * 1.05) if factor < 10 else math.ceil(factor / 10) * 10
    return f"about {max(2, rounded)} times the photons would tell"


def judge(interval: Interval, low: float, high: float) -> tuple[Outcome, float]:
    """Return whether a value lies between two bounds, and by what factor more photons would tell.

    Parameters
    ----------
    interval : Interval
    low, high : float
        Bounds, either may be infinite; on a bound is inside.

    Notes
    -----
    Both sides of the interval shrink with one over the square root of the photons, so the distance to the nearest
    bound is reached at ``(half width / distance)^2`` times as many, if the value stays.
    """
    value, below, above = interval.value, interval.value - interval.lower, interval.upper - interval.value
    if interval.lower >= low and interval.upper <= high:
        return INSIDE, 1.0
    if interval.upper < low or interval.lower > high:
        return OUTSIDE, 1.0
    if value < low:
        return CLOSE, _factor(above, low - value)
    if value > high:
        return CLOSE, _factor(below, value - high)
    wanted = [_factor(width, gap) for width, gap in ((below, value - low), (above, high - value)) if width > gap]
    return CLOSE, max(wanted)


def _factor(width: float, gap: float) -> float:
    return (width / gap) ** 2 if gap > 0 else math.inf


def against(value: float, low: float, high: float) -> str:
    """Return how a value stands to two bounds: ``"below 1"``, ``"above 2.6"``, ``"between 1 and 2.6"``."""
    if value < low:
        return f"below {plain(low)}"
    if value > high:
        return f"above {plain(high)}"
    if math.isinf(low):
        return f"not above {plain(high)}"
    return f"between {plain(low)} and {plain(high)}"


def nearest_bound(value: float, low: float, high: float) -> float:
    """Return the bound that a value is nearest to."""
    return low if abs(value - low) < abs(value - high) else high


def combine(criteria: tuple[Criterion, ...]) -> Verdict:
    """Return the verdict over all criteria."""
    outcomes = {criterion.outcome for criterion in criteria}
    if not criteria:
        return Verdict(NO_TARGET, ())
    for outcome in (OUTSIDE, CLOSE):
        if outcome in outcomes:
            return Verdict(outcome, criteria)
    return Verdict(INSIDE, criteria)
