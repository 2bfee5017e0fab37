"""Two samples of one amount: how far apart, how clearly, and whether by chance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.glyphs.base import Real

CONFIDENCE = 0.95
_MOST_PAIRED = 1500
"""Values of each sample, spread evenly over its order, whose differences are all taken."""


@dataclass(frozen=True)
class Interval:
    """A value with its 95 % interval."""

    value: float
    low: float
    high: float


def shift(first: Real, second: Real) -> Interval:
    """How much the first sample lies above the second: the median of all differences.

    The interval is that of the Mann-Whitney test turned round, by its normal
    approximation: those shifts that the test wouldn't refuse.

    Parameters
    ----------
    first, second
        ndarray of shape (m,) and (n,), float64, finite, at least one value each.

    References
    ----------
    J. L. Hodges and E. L. Lehmann, Ann. Math. Statist. 34 (1963) 598-611; M. Hollander and
    D. A. Wolfe, Nonparametric Statistical Methods (1973), section 4.3.

    Examples
    --------
    >>> shift(np.array([5.0, 6, 7]), np.array([1.0, 2, 3])).value
    4.0
    """
    from scipy.special import ndtri

    a, b = (_spread_out(sample) for sample in (first, second))
    apart = np.sort((a[:, None] - b[None, :]).ravel())
    m, n = len(a), len(b)
    z = float(ndtri((1 + CONFIDENCE) / 2))
    outside = m * n / 2 - z * np.sqrt(m * n * (m + n + 1) / 12)
    place = max(int(np.floor(outside)), 0)
    low, high = apart[place], apart[m * n - 1 - place]
    return Interval(float(np.median(apart)), float(low), float(high))


def _spread_out(sample: Real) -> Real:
    ordered = np.sort(sample)
    if len(ordered) <= _MOST_PAIRED:
        return ordered
    at = (np.arange(_MOST_PAIRED) + 0.5) * len(ordered) / _MOST_PAIRED
    return np.asarray(ordered[at.astype(np.intp)])


def cliffs_delta(first: Real, second: Real) -> Interval:
    """How often a value of the first is above one of the second, less how often below.

    Parameters
    ----------
    first, second
        ndarray of shape (m,) and (n,), finite, at least two values each.

    Returns
    -------
    Interval
        Between -1 and 1; the limits are the consistent, asymmetric ones.

    References
    ----------
    N. Cliff, Psychol. Bull. 114 (1993) 494-509: the unbiased variance and the asymmetric
    limits, with Student's t for m + n - 2 degrees of freedom.

    Examples
    --------
    >>> found = cliffs_delta(np.array([1.0, 2, 3, 4]), np.array([3.0, 4, 5, 6]))
    >>> found.value
    -0.75
    """
    from scipy.special import stdtrit

    x, y = np.sort(first), np.sort(second)
    m, n = len(x), len(y)
    of_x = (np.searchsorted(y, x, "left") + np.searchsorted(y, x, "right")) / n - 1
    of_y = 1 - (np.searchsorted(x, y, "left") + np.searchsorted(x, y, "right")) / m
    delta = float(of_x.mean())
    t = float(stdtrit(m + n - 2, (1 + CONFIDENCE) / 2))
    if abs(delta) >= 1 - 1e-12:
        # No spread is left to be seen: Wilson's limit for as many that all agree.
        inner = (min(m, n) - t * t) / (min(m, n) + t * t)
        ends = (inner, 1.0) if delta > 0 else (-1.0, -inner)
        return Interval(float(np.sign(delta)), *ends)
    ties = float((np.searchsorted(y, x, "right") - np.searchsorted(y, x, "left")).sum())
    all_pairs = m * n - ties - m * n * delta**2
    spread = n * n * ((of_x - delta) ** 2).sum() + m * m * ((of_y - delta) ** 2).sum() - all_pairs
    least = (1 - delta**2) / max(m * n - 1, 1)  # an unbiased estimate may come out under 0
    variance = max(float(spread) / (m * n * (m - 1) * (n - 1)), least)
    room = t * np.sqrt(variance) * np.sqrt((1 - delta**2) ** 2 + t * t * variance)
    under = 1 - delta**2 + t * t * variance
    low, high = (delta - delta**3 - room) / under, (delta - delta**3 + room) / under
    return Interval(delta, max(float(low), -1.0), min(float(high), 1.0))


def mann_whitney(first: Real, second: Real) -> float:
    """p-value, two-sided, of the Mann-Whitney test: exact for few values without ties.

    Examples
    --------
    >>> round(mann_whitney(np.array([19.0, 22, 16, 29, 24]), np.array([20.0, 11, 17, 12])), 4)
    0.1111
    """
    from scipy.stats import mannwhitneyu

    if np.ptp(np.concatenate([first, second])) == 0:
        return 1.0
    return float(mannwhitneyu(first, second, alternative="two-sided", method="auto").pvalue)
