"""What is left of a lamp's stated output: age, and the minutes after switching on."""

from itertools import pairwise
from typing import Annotated

import numpy as np
from pydantic import Field, model_validator

from sim.spec import Spec
from sim.units import Share

Count = Annotated[float, Field(ge=0.0)]
Row = tuple[Count, Share]


class Age(Spec):
    """How old a lamp is, and what its kind has left by then.

    ===========  =================================================================  =================
    key          meaning                                                            unit, default
    ===========  =================================================================  =================
    hours        hours that the lamp has burnt                                      hours, 0 or more
    left         rows of hours and the share of output left by then; linear         list
                 between the rows, and nothing is assumed beyond them
    stated_at    hours at which `output` holds, such as 100 for a lamp that was     hours, 0
                 seasoned before it was read
    ===========  =================================================================  =================

    Example::

        age = { hours = 2000, left = [[0, "100 %"], [100, "90 %"], [4000, "70 %"]], stated_at = 100 }

    Notes
    -----
    How fast a lamp fades differs from lamp to lamp: the rows must come from its maker or from a meter, and there are
    none in the program. What counts is the share left at `hours` over that left at `stated_at`.
    """

    hours: Count
    left: tuple[Row, ...]
    stated_at: Count = 0.0

    @model_validator(mode="after")
    def _within_its_rows(self) -> "Age":
        _check_rows(self.left, "left", "hours")
        first, last = self.left[0][0], self.left[-1][0]
        for key in ("hours", "stated_at"):
            at = getattr(self, key)
            if not first <= at <= last:
                raise ValueError(f"'{key}' is {at:g}, but the rows of 'left' go from {first:g} to {last:g} hours")
        if _at(self.stated_at, self.left) == 0.0:
            raise ValueError("nothing is left at 'stated_at', so no output can have been stated then")
        return self

    @property
    def factor(self) -> float:
        """Output at this age over the stated one."""
        return _at(self.hours, self.left) / _at(self.stated_at, self.left)


class WarmUp(Spec):
    """How long ago a lamp was switched on, and how far its kind has come by then.

    ===========  =================================================================  =================
    key          meaning                                                            unit, default
    ===========  =================================================================  =================
    minutes      minutes since it was switched on                                   minutes, 0 or more
    reached      rows of minutes and the share of the stated output; linear         list
                 between the rows, as the last one after it
    ===========  =================================================================  =================

    Example::

        warm_up = { minutes = 2, reached = [[0, "50 %"], [5, "90 %"], [20, "100 %"]] }

    Notes
    -----
    As with age, the rows belong to one kind of lamp at one temperature, and none are in the program.
    """

    minutes: Count
    reached: tuple[Row, ...]

    @model_validator(mode="after")
    def _after_its_first_row(self) -> "WarmUp":
        _check_rows(self.reached, "reached", "minutes")
        if self.minutes < self.reached[0][0]:
            raise ValueError(
                f"'minutes' is {self.minutes:g}, but the rows of 'reached' start at {self.reached[0][0]:g}"
            )
        return self

    @property
    def factor(self) -> float:
        """Output at this time over the stated one."""
        return _at(self.minutes, self.reached)


def _check_rows(rows: tuple[Row, ...], key: str, unit: str) -> None:
    if len(rows) < 2:
        raise ValueError(f"'{key}' needs at least two rows of {unit} and share, such as [0, '100 %']")
    for (earlier, _), (later, _) in pairwise(rows):
        if later <= earlier:
            raise ValueError(f"the {unit} in '{key}' must increase; {earlier:g} is followed by {later:g}")


def _at(place: float, rows: tuple[Row, ...]) -> float:
    return float(np.interp(place, [at for at, _ in rows], [share for _, share in rows]))
