"""Intervals for one share of right answers: how far chance could have moved it."""

from __future__ import annotations

from collections.abc import Callable
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gen.core.errors import InkdriftError
from gen.evaluate.results import Proportion

Real = NDArray[np.float64]
Interval = Callable[[ArrayLike, ArrayLike], tuple[Real, Real]]

WILSON = "Wilson score"
"""Name of the interval that curves carry when nothing else is asked for."""
CLOPPER_PEARSON = "Clopper-Pearson"
"""Name of the exact interval."""


def wilson_score(
    correct: ArrayLike, n: ArrayLike, *, confidence: float = 0.95
) -> tuple[Real, Real]:
    """Wilson's score interval for a share, without continuity correction.

    It stays inside 0..1, has a width even when all answers are right or all are
    wrong, and its ends are then exactly 1 and exactly 0.

    Parameters
    ----------
    correct, n
        Counts, of any shapes that broadcast; 0 <= correct <= n and n > 0. Effective
        counts (`gen.evaluate.writers`) needn't be whole.
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
        Counts, of any shapes that broadcast; 0 <= correct <= n and n > 0. Effective
        counts (`gen.evaluate.writers`) needn't be whole.
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
    first, second = np.where(k == 0, 1.0, k), np.where(k == total, 1.0, total - k)
    low = np.where(k == 0, 0.0, betaincinv(first, total - k + 1, tail))
    high = np.where(k == total, 1.0, betaincinv(k + 1, second, 1 - tail))
    return low, high


INTERVALS: dict[str, tuple[Interval, str]] = {
    "wilson": (wilson_score, WILSON),
    "clopper-pearson": (clopper_pearson, CLOPPER_PEARSON),
}
"""What can be asked for, with the function and the name that results carry."""


def interval_of(name: str) -> tuple[Interval, str]:
    """The interval that was asked for.

    Parameters
    ----------
    name
        "wilson" or "clopper-pearson".

    Returns
    -------
    The function, and the name that results carry.

    Raises
    ------
    InkdriftError
        If there is no such interval.

    Examples
    --------
    >>> interval_of("clopper-pearson")[1]
    'Clopper-Pearson'
    """
    known = INTERVALS.get(name) if isinstance(name, str) else None
    if known is None:
        raise InkdriftError(
            "interval",
            "there is no such interval for a share",
            got=repr(name),
            allowed=", ".join(f'"{one}"' for one in INTERVALS),
        )
    return known


def proportions(
    correct: ArrayLike, n: ArrayLike, *, interval: str = "wilson"
) -> tuple[Proportion, ...]:
    """Shares of independent glyphs with their 95 % intervals; see also `gen.evaluate.shares`.

    Parameters
    ----------
    correct, n
        Counts, each of shape (k,) or one for all; n >= 1.
    interval
        One of `INTERVALS`.

    Raises
    ------
    InkdriftError
        If there is no such interval.

    Examples
    --------
    >>> [f"{share.value:.2f} from {share.low:.2f}" for share in proportions([19, 20], 20)]
    ['0.95 from 0.76', '1.00 from 0.84']
    """
    ends, method = interval_of(interval)
    right, total = np.broadcast_arrays(np.atleast_1d(correct), np.atleast_1d(n))
    low, high = ends(right, total)
    rows = zip(right.tolist(), total.tolist(), low.tolist(), high.tolist(), strict=True)
    return tuple(
        Proportion(int(k), int(of), k / of, below, above, method) for k, of, below, above in rows
    )


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
    if not np.all(total > 0):
        raise ValueError("n must be over 0: no answers, no share")
    if not np.all((k >= 0) & (k <= total)):
        raise ValueError("correct must be between 0 and n")
    return k, total
