"""What a zone is meant to be, as a result carries it."""

import math
from dataclasses import dataclass

from sim.analysis.numbers import percent, plain
from sim.tally.result import Group


@dataclass(frozen=True)
class ZoneTarget:
    """What a zone is meant to be.

    Attributes
    ----------
    low, high : float
        Bounds of the mean UVI; infinite where there is none. A refuge has an upper bound alone, and no UVI is below
        zero, so that a lower bound of zero is none.
    max : float
        What the highest reading must not exceed; infinite where there is none.
    share : float, optional
        Share of the area whose UVI is to lie within the bounds of the mean.
    """

    low: float = -math.inf
    high: float = math.inf
    max: float = math.inf
    share: float | None = None

    @property
    def has_band(self) -> bool:
        """Whether the mean has a bound."""
        return math.isfinite(self.low) or math.isfinite(self.high)

    @property
    def words(self) -> str:
        """The target in words."""
        parts = []
        if math.isfinite(self.low) and math.isfinite(self.high):
            parts.append(f"mean UVI {plain(self.low)} to {plain(self.high)}")
        elif math.isfinite(self.high):
            parts.append(f"mean UVI up to {plain(self.high)}")
        elif math.isfinite(self.low):
            parts.append(f"mean UVI at least {plain(self.low)}")
        if math.isfinite(self.max):
            parts.append(f"nowhere over {plain(self.max)}")
        if self.share is not None:
            parts.append(f"within those bounds on {percent(self.share)} of the area")
        return ", ".join(parts) or "none set"


def target_of(group: Group) -> ZoneTarget:
    """Return the target that a zone's group carries in its detail."""
    detail = group.detail or {}
    low, high = detail.get("mean") or (None, None)
    # A refuge cannot be too dark, and no UVI is below zero.
    least = 0.0 if low is None or detail.get("role") == "refuge" else float(low)
    bounded = least > 0 or high is not None
    share, top = detail.get("share"), detail.get("max")
    return ZoneTarget(
        low=least if least > 0 else -math.inf,
        high=math.inf if high is None else float(high),
        max=math.inf if top is None else float(top),
        share=float(share) if share is not None and bounded else None,
    )
