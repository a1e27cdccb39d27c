"""Standard errors: the only place where one is computed.

A run is made of independent, identically distributed replicates. Any number that is linear in irradiance is computed
in each replicate, and its error follows from the scatter of those values, whatever is correlated inside a replicate
(bands share paths, cells share photons). Numbers that are not linear (a covered share) are resampled.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from sim.tally.student import t_quantile

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Estimate:
    """Mean and standard error of one or many numbers, same shape, and the replicates behind them."""

    mean: FloatArray
    se: FloatArray
    replicates: int

    @property
    def half_width(self) -> FloatArray:
        """Half width of the 95 % interval, by Student's t."""
        return t_factor(self.replicates) * self.se


def estimate(values: npt.ArrayLike) -> Estimate:
    """Return mean and standard error over the first axis.

    Parameters
    ----------
    values : (replicate, ...) float
        Independent replicates.

    Raises
    ------
    ValueError
        With fewer than two replicates.
    """
    samples = np.asarray(values, dtype=np.float64)
    if len(samples) < 2:
        raise ValueError("a standard error needs at least two replicates")
    mean = samples.mean(axis=0)
    se = samples.std(axis=0, ddof=1) / np.sqrt(len(samples))
    return Estimate(mean, se, len(samples))


@dataclass(frozen=True)
class PartsEstimate:
    """Numbers that are sums of parts: what it takes to know any mix of the parts with its standard error.

    Attributes
    ----------
    mean : (part, n) float
    covariance : (pair, n) float
        Of the means, for each pair of parts as `numpy.triu_indices` orders them.
    replicates : int
    """

    mean: FloatArray
    covariance: FloatArray
    replicates: int

    def mixed(self, factors: npt.ArrayLike) -> Estimate:
        """Return the sum of the parts, each times its factor, (n,): exactly what `estimate` makes of mixed replicates.

        Parameters
        ----------
        factors : (part,) float
        """
        weights = np.asarray(factors, dtype=np.float64)
        first, second = np.triu_indices(len(self.mean))
        pairs = np.where(first == second, 1.0, 2.0) * weights[first] * weights[second]
        # Rounding may leave a variance of nothing a hair below zero.
        variance = np.maximum(pairs @ self.covariance, 0.0)
        return Estimate(weights @ self.mean, np.sqrt(variance), self.replicates)


def estimate_parts(values: npt.ArrayLike) -> PartsEstimate:
    """Return means and covariances of parts over replicates.

    Parameters
    ----------
    values : (replicate, part, n) float
        Independent replicates; within one, the parts may depend on each other.

    Raises
    ------
    ValueError
        With fewer than two replicates.
    """
    samples = np.asarray(values, dtype=np.float64)
    count = len(samples)
    if count < 2:
        raise ValueError("a standard error needs at least two replicates")
    mean = samples.mean(axis=0)
    scatter = samples - mean
    first, second = np.triu_indices(samples.shape[1])
    pairs = zip(first, second, strict=True)
    products = [np.einsum("kn,kn->n", scatter[:, a], scatter[:, b]) for a, b in pairs]
    covariance = np.reshape(products, (len(first), samples.shape[2])) / ((count - 1) * count)
    return PartsEstimate(mean, covariance, count)


def t_factor(replicates: int, confidence: float = 0.95) -> float:
    """Return the factor on a standard error that gives a two-sided interval (Student, 1908)."""
    return t_quantile(replicates - 1, 0.5 - 0.5 * confidence)


@cache
def _drawn_weights(count: int, draws: int) -> FloatArray:
    """Return how much each of a count of replicates weighs in each draw, (draws, count)."""
    rng = np.random.Generator(np.random.Philox(20_100_317))
    weights: FloatArray = rng.multinomial(count, np.full(count, 1.0 / count), size=draws) / count
    return weights


def resampled(values: npt.ArrayLike, statistic: Callable[[FloatArray], float], draws: int = 400) -> tuple[float, float]:
    """Return a statistic of the mean over replicates, and its standard error by the bootstrap.

    Parameters
    ----------
    values : (replicate, ...) float
    statistic : callable
        Takes a mean, shape ``values.shape[1:]``, and returns one number; it need not be linear.
    draws : int
        Resamples of the replicates, from a fixed stream.

    References
    ----------
    B. Efron, R. Tibshirani, An Introduction to the Bootstrap, 1993, chapter 6.
    """
    samples = np.asarray(values, dtype=np.float64)
    count = len(samples)
    flat = samples.reshape(count, -1)
    means = (_drawn_weights(count, draws) @ flat).reshape(draws, *samples.shape[1:])
    drawn = np.array([statistic(mean) for mean in means])
    return statistic(samples.mean(axis=0)), float(drawn.std(ddof=1))
