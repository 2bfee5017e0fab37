"""The ends of an interval among figures that were drawn."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.results import Estimate

Real = NDArray[np.float64]

TAIL = 0.025
"""Left out on each side of a 95 % interval, when units are many."""


def percentile(values: Real, value: float, method: str, *, tail: float = TAIL) -> Estimate:
    """The percentile interval of a figure.

    Of m draws in which the figure could be told, the ends are the k-th smallest and the
    k-th largest value, k being the whole part of tail (m + 1), at least 1: for a tail of
    0.025 the 50th of 2,000. Nothing is interpolated, so that an end is a value that was drawn.

    Parameters
    ----------
    values
        ndarray of shape (draws,): NaN where it couldn't be told, infinite where it lies
        beyond the levels tried.
    value
        On the glyphs as they are; NaN or infinite as before.
    method
        What the draws were.
    tail
        Share of the draws that is left out on each side.

    Returns
    -------
    Estimate
        Without a value where that isn't finite, without an end where that isn't, and
        without an interval when the figure couldn't be told in over half of the draws.

    References
    ----------
    B. Efron and R. J. Tibshirani, An Introduction to the Bootstrap (1993), section
    12.5 has this rule for the k-th value (section from memory).

    Examples
    --------
    >>> found = percentile(np.append(np.arange(1950.0), np.full(50, np.inf)), 1000.0, "drawn")
    >>> found.low, found.high, found.beyond
    (49.0, None, 0.025)
    """
    told = np.sort(values[~np.isnan(values)])
    undefined = int(np.isnan(values).sum()) / len(values)
    low = high = math.nan
    if len(told) * 2 >= len(values):
        low, high = order_ends(told, tail)
    return Estimate(
        value=_finite(value),
        low=_finite(low),
        high=_finite(high),
        undefined=undefined,
        beyond=float(np.isinf(values).mean()),
        method=method,
    )


def order_ends(ascending: Real, tail: float = TAIL) -> tuple[float, float]:
    """The values of sorted draws that leave a tail of them out on each side; see `percentile`.

    Parameters
    ----------
    ascending
        ndarray of shape (m,), sorted, m >= 1.
    tail
        Share of them.
    """
    k = max(1, math.floor(tail * (len(ascending) + 1)))
    return float(ascending[k - 1]), float(ascending[-k])


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
