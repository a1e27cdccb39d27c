"""A result of some of its groups alone, for asking a part of it often."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sim.tally.result import Group, Result


def narrowed(result: Result, groups: Sequence[Group]) -> Result:
    """Return a result that holds the receivers of some groups alone, in the order given; all else is as it was.

    Parameters
    ----------
    result : Result
    groups : sequence of Group
        Of the result.
    """
    rows = np.concatenate([np.zeros(0, dtype=np.int64), *(np.arange(g.first, g.first + g.count) for g in groups)])
    firsts = np.cumsum([0, *(group.count for group in groups)])
    moved = tuple(replace(group, first=int(first)) for group, first in zip(groups, firsts[:-1], strict=True))
    return replace(
        result,
        groups=moved,
        centre=result.centre[rows],
        normal=result.normal[rows],
        area=result.area[rows],
        irradiance=result.irradiance[:, rows],
    )
