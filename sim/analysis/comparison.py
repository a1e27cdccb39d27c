"""Two results held against each other: where they can be compared, and where they differ beyond the error."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sim.analysis.maps import area_weights, counted
from sim.analysis.selection import Selection
from sim.tally.result import FloatArray, Group, Result
from sim.tally.statistics import Estimate, estimate

_SAME_PLACE = 1e-6  # m


class ComparisonError(ValueError):
    """Two results that have nothing in common; one line that says so."""


@dataclass(frozen=True)
class Pair:
    """A group that both results have, cell for cell in the same places.

    Attributes
    ----------
    first, second : Group
    """

    first: Group
    second: Group

    @property
    def name(self) -> str:
        """Its name in both."""
        return self.first.name


@dataclass(frozen=True, eq=False)
class Comparison:
    """Two selections of numbers, and their difference, second less first.

    Attributes
    ----------
    first, second : Selection
        Of the same quantity.
    """

    first: Selection
    second: Selection

    @cached_property
    def pairs(self) -> tuple[Pair, ...]:
        """Groups in which the two can be compared.

        Raises
        ------
        ComparisonError
            If there is none.
        """
        theirs = {(group.kind, group.name): group for group in _comparable(self.second.result)}
        named = [(group, theirs.get((group.kind, group.name))) for group in _comparable(self.first.result)]
        results = (self.first.result, self.second.result)
        found = tuple(Pair(a, b) for a, b in named if b is not None and _same_places(results, a, b))
        if not found:
            raise ComparisonError(
                "the two results have no surface, sensor or zone in common, by name and place: "
                "compare variants of one scene"
            )
        return found

    @cached_property
    def left_out(self) -> tuple[str, ...]:
        """Names of what only one of them has, or has elsewhere or in other cells."""
        both = {(pair.first.kind, pair.name) for pair in self.pairs}
        every = [group for shown in (self.first, self.second) for group in _comparable(shown.result)]
        return tuple(dict.fromkeys(group.name for group in every if (group.kind, group.name) not in both))

    def difference(self, pair: Pair) -> Estimate:
        """Return the difference in every cell of a pair, (cell,), with its error."""
        a, b = self.first.values[:, pair.first.rows], self.second.values[:, pair.second.rows]
        return difference(a, b)

    def mean_difference(self, pair: Pair) -> Estimate:
        """Return the difference of the area means of a pair."""
        a, b = self._means(pair)
        return difference(a[:, None], b[:, None])

    def means(self, pair: Pair) -> tuple[Estimate, Estimate]:
        """Return the area means of a pair in the first and in the second."""
        a, b = self._means(pair)
        return estimate(a), estimate(b)

    def _means(self, pair: Pair) -> tuple[FloatArray, FloatArray]:
        first, second = self.first, self.second
        weights = area_weights(first.result.area[pair.first.rows])
        return first.values[:, pair.first.rows] @ weights, second.values[:, pair.second.rows] @ weights


def difference(first: FloatArray, second: FloatArray) -> Estimate:
    """Return the mean of second less first over the replicates, and its standard error.

    Parameters
    ----------
    first, second : (replicate, ...) float

    Notes
    -----
    Equally many replicates are taken pair by pair. Two runs from one seed share their random numbers, so that much of
    their noise cancels, which the pairs see; for runs from different seeds the pairs are as good as any. With other
    numbers of replicates the two errors are added in quadrature, which is too large where they share noise.
    """
    if len(first) == len(second):
        return estimate(second - first)
    a, b = estimate(first), estimate(second)
    return Estimate(b.mean - a.mean, np.hypot(a.se, b.se), min(a.replicates, b.replicates))


def beyond_error(found: Estimate) -> "np.ndarray[tuple[int, ...], np.dtype[np.bool_]]":
    """Return where a difference is larger than the half width of its 95 % interval."""
    return np.abs(found.mean) > found.half_width


def _comparable(result: Result) -> list[Group]:
    """Return the groups that a scene names; sections are only pictures of it."""
    return [group for group in result.groups if group.count and group.kind != "section"]


def _same_places(results: tuple[Result, Result], a: Group, b: Group) -> bool:
    if a.count != b.count or a.shape != b.shape:
        return False
    one, other = (result.centre[group.rows] for result, group in zip(results, (a, b), strict=True))
    there, theirs = (counted(result.area[group.rows]) for result, group in zip(results, (a, b), strict=True))
    return bool(np.abs(one - other).max() <= _SAME_PLACE and np.array_equal(there, theirs))
