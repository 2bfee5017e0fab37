"""Two shares on the same glyphs: how they differ and whether that is chance.

The same glyphs are read at nominal and at a level, so only the glyphs on which
the two disagree tell anything about a difference.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gen.evaluate.intervals import wilson_score

Real = NDArray[np.float64]

NEWCOMBE = "Newcombe, paired (method 10)"
"""Name of the interval that differences carry."""


def mcnemar_exact(only_first: ArrayLike, only_second: ArrayLike) -> Real:
    """McNemar's exact test, two-sided: are both ways of disagreeing equally frequent?

    Parameters
    ----------
    only_first, only_second
        Glyphs read rightly by one of the two only; counts that broadcast. Effective
        counts (`gen.evaluate.writers`) needn't be whole.

    Returns
    -------
    ndarray, float64
        Twice the smaller tail of a fair coin thrown once a disagreement, at most
        1; exactly 1 where there is none.

    Raises
    ------
    ValueError
        If a count is below 0.

    References
    ----------
    Q. McNemar, Psychometrika 12 (1947) 153-157; in its binomial form, M. W.
    Fagerland, S. Lydersen and P. Laake, BMC Med. Res. Methodol. 13 (2013) 91.

    Examples
    --------
    >>> float(mcnemar_exact(10, 0)) == 2 / 1024
    True
    """
    from scipy.special import betainc

    b, c = np.broadcast_arrays(
        np.asarray(only_first, dtype=np.float64), np.asarray(only_second, dtype=np.float64)
    )
    if not np.all((b >= 0) & (c >= 0)):
        raise ValueError("disagreements are counts and can't be below 0")
    fewer, thrown = np.minimum(b, c), b + c
    # The binomial tail as an incomplete beta function, which takes counts that aren't whole.
    tail = betainc(np.where(thrown == 0, 1.0, thrown - fewer), fewer + 1, 0.5)
    # The middle throw counts in both tails, so that twice a tail may pass 1.
    p: Real = np.where(thrown == 0, 1.0, np.minimum(1.0, 2.0 * tail))
    return p


def newcombe_paired(
    both: ArrayLike,
    only_first: ArrayLike,
    only_second: ArrayLike,
    neither: ArrayLike,
    *,
    confidence: float = 0.95,
) -> tuple[Real, Real]:
    """Newcombe's interval for the first share less the second, on the same glyphs.

    The two Wilson intervals are put together by squaring and adding, less what
    the correlation of the pairs takes away. It has a width even when nothing
    disagrees.

    Parameters
    ----------
    both, only_first, only_second, neither
        Counts of glyphs read rightly by both, by one only, by neither; they
        broadcast, and their sum is over 0. Effective counts needn't be whole.
    confidence
        Two-sided, between 0 and 1.

    Returns
    -------
    low, high
        ndarrays, float64, of the broadcast shape, between -1 and 1.

    Raises
    ------
    ValueError
        If a count is below 0, all are 0, or the confidence is outside 0..1.

    References
    ----------
    R. G. Newcombe, Statist. Med. 17 (1998) 2635-2650, method 10.

    Examples
    --------
    >>> low, high = newcombe_paired(36, 12, 2, 0)
    >>> f"{low:.4f} {high:.4f}"
    '0.0569 0.3404'
    """
    a, b, c, d = np.broadcast_arrays(
        *(np.asarray(count, dtype=np.float64) for count in (both, only_first, only_second, neither))
    )
    if not np.all((a >= 0) & (b >= 0) & (c >= 0) & (d >= 0)):
        raise ValueError("counts can't be below 0")
    n = a + b + c + d
    low_1, high_1 = wilson_score(a + b, n, confidence=confidence)
    low_2, high_2 = wilson_score(a + c, n, confidence=confidence)
    p_1, p_2, gain = (a + b) / n, (a + c) / n, (b - c) / n
    phi = _correlation(a, b, c, d, n)
    down_1, up_1, down_2, up_2 = p_1 - low_1, high_1 - p_1, p_2 - low_2, high_2 - p_2
    below = np.sqrt(_squares(down_1, up_2, phi))
    above = np.sqrt(_squares(up_1, down_2, phi))
    return np.maximum(gain - below, -1.0), np.minimum(gain + above, 1.0)


def _squares(first: Real, second: Real, phi: Real) -> Real:
    """Square and add, less the correlated part; rounding must not take it below 0."""
    total: Real = np.maximum(first**2 - 2 * phi * first * second + second**2, 0.0)
    return total


def _correlation(a: Real, b: Real, c: Real, d: Real, n: Real) -> Real:
    """Phi of the fourfold table, with Newcombe's continuity correction where it is positive."""
    margins = np.sqrt(a + b) * np.sqrt(c + d) * np.sqrt(a + c) * np.sqrt(b + d)
    cross = a * d - b * c
    cross = np.where(cross > 0, np.maximum(cross - n / 2, 0.0), cross)
    phi: Real = np.where(margins == 0, 0.0, cross / np.where(margins == 0, 1.0, margins))
    return phi
