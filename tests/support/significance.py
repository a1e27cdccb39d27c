"""Goodness of fit and many tests at once."""

import numpy as np
import numpy.typing as npt
from scipy.stats import chi2

FloatArray = npt.NDArray[np.float64]

THIN = 5.0
"""Cells with fewer expected counts than this are pooled (W. Cochran, Biometrics 10:417, 1954)."""


def sidak(significance: float, tests: int) -> float:
    """Significance of each of many tests so that all together have the one given (Z. Sidak, JASA 62:626, 1967)."""
    return float(-np.expm1(np.log1p(-significance) / tests))


def chi_square(observed: npt.ArrayLike, expected: npt.ArrayLike) -> float:
    """Probability of a fit at least as bad as this one, by Pearson's test, thin cells pooled into one."""
    counts, means = np.ravel(np.asarray(observed, dtype=np.float64)), np.ravel(np.asarray(expected, dtype=np.float64))
    assert counts.shape == means.shape
    assert np.isclose(counts.sum(), means.sum(), rtol=1e-3), "observed and expected counts have different sums"
    if np.any(counts[means <= 0.0] > 0.0):
        return 0.0
    thin = means < THIN
    if means[thin].sum() >= THIN:
        counts = np.append(counts[~thin], counts[thin].sum())
        means = np.append(means[~thin], means[thin].sum())
    else:
        # What is thin even when pooled joins the thickest cell.
        most = int(np.argmax(means))
        counts[most] += counts[thin].sum()
        means[most] += means[thin].sum()
        counts, means = counts[~thin], means[~thin]
    assert len(counts) > 1, "nothing is left to compare"
    return float(chi2.sf(((counts - means) ** 2 / means).sum(), len(counts) - 1))
