"""Student's t distribution: a library that has it takes longer to load than a page takes to write."""

import math
from functools import lru_cache

_MOST = 300
"""Steps of Newton's method and terms of the fraction, at most; ten and fifty do."""
_EXACT = 1e-15


@lru_cache(maxsize=1024)
def t_quantile(freedom: int, beyond: float) -> float:
    """Return what Student's t exceeds with a probability.

    Parameters
    ----------
    freedom : int, > 0
        Degrees of freedom.
    beyond : float, > 0, at most 1/2
        Probability of larger values.

    Raises
    ------
    ValueError
        If the probability is outside these bounds.
    """
    if not 0.0 < beyond <= 0.5:
        raise ValueError(f"a probability of {beyond:g} is outside 0 to 1/2")
    t = 0.0
    for _ in range(_MOST):
        tail = t_tail(freedom, t)
        # Newton's method on the logarithm of the tail, which bends one way: it comes from below and never beyond.
        step = tail / _density(freedom, t) * math.log(tail / beyond)
        t += step
        if abs(step) <= 4.0 * _EXACT * t:
            break
    return t


def t_tail(freedom: int, t: float) -> float:
    """Return the probability that Student's t exceeds a value t >= 0.

    References
    ----------
    M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1964, 26.7.1 and 26.5.8.
    """
    within = t * t / (freedom + t * t)
    if within < 1.5 / (0.5 * freedom + 2.5):
        return 0.5 - 0.5 * _incomplete_beta(0.5, 0.5 * freedom, within)
    return 0.5 * _incomplete_beta(0.5 * freedom, 0.5, freedom / (freedom + t * t))


def _density(freedom: int, t: float) -> float:
    scale = math.lgamma(0.5 * (freedom + 1)) - math.lgamma(0.5 * freedom) - 0.5 * math.log(freedom * math.pi)
    return math.exp(scale - 0.5 * (freedom + 1) * math.log1p(t * t / freedom))


def _incomplete_beta(a: float, b: float, x: float) -> float:
    """Return the regularised incomplete beta function, for x below about ``(a + 1) / (a + b + 2)``."""
    if x == 0.0:
        return 0.0
    front = a * math.log(x) + b * math.log1p(-x) + math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
    # The fraction from its front, by the ratios of its numerators and of its denominators (Lentz, Appl. Opt. 15, 1976).
    below = 1.0 / (1.0 - (a + b) * x / (a + 1.0))
    above, value = 1.0, below
    for m in range(1, _MOST):
        before = value
        for part in (
            m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0)),
        ):
            below = 1.0 / (1.0 + part * below)
            above = 1.0 + part / above
            value *= below * above
        if abs(value - before) <= _EXACT * value:
            break
    return math.exp(front) * value / a
