"""Standard errors: the only place where one is computed.

A run is made of independent, identically distributed replicates. Any number that is linear in irradiance is computed
in each replicate, and its error follows from the scatter of those values, whatever is correlated inside a replicate
(bands share paths, cells share photons). Numbers that are not linear (a covered share) are resampled.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

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


def t_factor(replicates: int, confidence: float = 0.95) -> float:
    """Return the factor on a standard error that gives a two-sided interval (Student, 1908)."""
    from scipy.special import stdtrit  # scipy is slow to import and needed at the end of a run only

    return float(stdtrit(replicates - 1, 0.5 + 0.5 * confidence))


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
    rng = np.random.Generator(np.random.Philox(20_100_317))
    weights = rng.multinomial(count, np.full(count, 1.0 / count), size=draws) / count
    flat = samples.reshape(count, -1)
    means = (weights @ flat).reshape(draws, *samples.shape[1:])
    drawn = np.array([statistic(mean) for mean in means])
    return statistic(samples.mean(axis=0)), float(drawn.std(ddof=1))
