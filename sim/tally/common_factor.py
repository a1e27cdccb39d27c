"""One factor that brings computed numbers to stated ones: least squares, its error, and whether all agree with it."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class CommonFactor:
    """A factor fitted to several ratios.

    Attributes
    ----------
    value : float
    weights : (n,) float, sum 1
        Share of each ratio in it.
    deviation : (replicate,) float
        Relative deviation of each replicate's factor, to first order; their mean is zero.
    stated_error : float
        Relative standard error that the stated numbers' own errors give it.
    chi_square : float
        Of the ratios about the factor, by both errors together.
    freedom : int
        Its degrees of freedom, one less than there are ratios.
    """

    value: float
    weights: FloatArray
    deviation: FloatArray
    stated_error: float
    chi_square: float
    freedom: int

    @property
    def chance(self) -> float:
        """Probability of so large a chi-square or a larger one, if all is as assumed; one for a single ratio."""
        return 1.0 if self.freedom == 0 else chi_square_tail(self.chi_square, self.freedom)


def common_factor(stated: npt.ArrayLike, errors: npt.ArrayLike, computed: npt.ArrayLike) -> CommonFactor:
    """Return the factor on computed numbers that fits stated ones best.

    Parameters
    ----------
    stated : (n,) float, > 0
    errors : (n,) float, >= 0
        Their relative standard errors, independent of each other.
    computed : (replicate, n) float
        Independent replicates, each with errors that its numbers may share; means above zero.

    Notes
    -----
    Generalised least squares on the ratios stated / computed, whose relative covariance is that of the stated numbers
    plus that of the computed means. Relative errors of one size so weigh the same however small the number, and the
    fit does not favour low readings, as squares of absolute differences weighted by the reading would.

    References
    ----------
    A. C. Aitken, Proc. R. Soc. Edinb. 55 (1935) 42-48.
    """
    wanted, samples = np.asarray(stated, dtype=np.float64), np.asarray(computed, dtype=np.float64)
    own: FloatArray = np.diag(np.asarray(errors, dtype=np.float64) ** 2)
    mean = samples.mean(axis=0)
    weights: FloatArray
    precision: FloatArray
    if len(wanted) == 1:
        weights, precision = np.ones(1), np.zeros((1, 1))
    else:
        covariance = own + np.atleast_2d(np.cov(samples / mean, rowvar=False)) / len(samples)
        precision = np.asarray(np.linalg.inv(covariance), dtype=np.float64)
        weights = precision.sum(axis=0) / precision.sum()
    ratios = wanted / mean
    value = float(weights @ ratios)
    left = ratios / value - 1.0
    return CommonFactor(
        value=value,
        weights=weights,
        deviation=(1.0 - samples / mean) @ (weights * ratios / value),
        stated_error=float(np.sqrt(weights @ own @ weights)),
        chi_square=float(left @ precision @ left),
        freedom=len(wanted) - 1,
    )


def chi_square_tail(value: float, freedom: int) -> float:
    """Return the probability that a chi-square of some degrees of freedom exceeds a value."""
    from scipy.special import chdtrc  # scipy is slow to import and needed at the end of a run only

    return float(chdtrc(freedom, value))
