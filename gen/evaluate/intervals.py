"""Intervals for one share of right answers: how far chance could have moved it."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

Real = NDArray[np.float64]

WILSON = "Wilson score"
"""Name of the interval that curves carry."""


def wilson_score(
    correct: ArrayLike, n: ArrayLike, *, confidence: float = 0.95
) -> tuple[Real, Real]:
    """Wilson's score interval for a share, without continuity correction.

    It stays inside 0..1, has a width even when all answers are right or all are
    wrong, and its ends are then exactly 1 and exactly 0.

    Parameters
    ----------
    correct, n
        Counts, of any shapes that broadcast; 0 <= correct <= n and n >= 1.
    confidence
        Two-sided, between 0 and 1.

    Returns
    -------
    low, high
        ndarrays, float64, of the broadcast shape.

    Raises
    ------
    ValueError
        If a count or the confidence is outside its range.

    References
    ----------
    E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212; method 3 of R. G.
    Newcombe, Statist. Med. 17 (1998) 857-872.

    Examples
    --------
    >>> low, high = wilson_score(81, 263)
    >>> f"{low:.4f} {high:.4f}"
    '0.2553 0.3662'
    """
    k, total = _counts(correct, n)
    z = normal_quantile(confidence)
    centre = k + z * z / 2
    half = z * np.sqrt(k * (total - k) / total + z * z / 4)
    low = np.where(k == 0, 0.0, (centre - half) / (total + z * z))
    high = np.where(k == total, 1.0, (centre + half) / (total + z * z))
    return low, high


def clopper_pearson(
    correct: ArrayLike, n: ArrayLike, *, confidence: float = 0.95
) -> tuple[Real, Real]:
    """Clopper and Pearson's interval: never covers less than asked, often more.

    Parameters
    ----------
    correct, n
        Counts, of any shapes that broadcast; 0 <= correct <= n and n >= 1.
    confidence
        Two-sided, between 0 and 1.

    Returns
    -------
    low, high
        ndarrays, float64, of the broadcast shape.

    Raises
    ------
    ValueError
        If a count or the confidence is outside its range.

    References
    ----------
    C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413.

    Examples
    --------
    >>> low, high = clopper_pearson(0, 20)
    >>> f"{low:.4f} {high:.4f}"
    '0.0000 0.1684'
    """
    from scipy.special import betaincinv

    k, total = _counts(correct, n)
    normal_quantile(confidence)  # refuses a confidence outside 0..1
    tail = (1.0 - confidence) / 2
    # At the ends the beta law has no first or second parameter; the limit is 0 or 1 itself.
    low = np.where(k == 0, 0.0, betaincinv(np.maximum(k, 1), total - k + 1, tail))
    high = np.where(k == total, 1.0, betaincinv(k + 1, np.maximum(total - k, 1), 1 - tail))
    return low, high


def normal_quantile(confidence: float) -> float:
    """How many standard deviations each side holds this share of a normal law.

    Examples
    --------
    >>> f"{normal_quantile(0.95):.6f}"
    '1.959964'
    """
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence must be between 0 and 1, got {confidence!r}")
    return NormalDist().inv_cdf(0.5 + confidence / 2)


def _counts(correct: ArrayLike, n: ArrayLike) -> tuple[Real, Real]:
    k, total = np.broadcast_arrays(
        np.asarray(correct, dtype=np.float64), np.asarray(n, dtype=np.float64)
    )
    if not np.all(total >= 1):
        raise ValueError("n must be at least 1: no answers, no share")
    if not np.all((k >= 0) & (k <= total)):
        raise ValueError("correct must be between 0 and n")
    return k, total
