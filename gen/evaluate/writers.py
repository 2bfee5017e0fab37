"""What glyphs tell when the same people wrote several: less than as many by different people.

Glyphs of one hand are read rightly and misread together. How much less they tell is their
*design effect*: how many times the variance of a figure, as whole writers show it, is what it
would be if glyphs were independent. Counts divided by it are effective counts, and go into
the intervals and tests that are made for independent glyphs.

References
----------
J. N. K. Rao and A. J. Scott, Biometrics 48 (1992) 577-585, for effective counts; W. G.
Cochran, Sampling Techniques (1977), section 6.4, for the variance of a ratio; E. L. Korn and
B. I. Graubard, Surv. Methodol. 24 (1998) 193-201, for Student's law in place of the normal
(from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gen.evaluate.bootstrap import FEWEST_WRITERS
from gen.evaluate.percentiles import TAIL

Real = NDArray[np.float64]
Whole = NDArray[np.intp]

WIDENED = ", widened for writers"
"""What the name of an interval ends with that is made from effective counts."""
LEAST_P = 1e-300


@dataclass(frozen=True, eq=False)
class Writers:
    """Who wrote each of N glyphs.

    Attributes
    ----------
    place
        ndarray of shape (N,), intp: the writers numbered from 0.
    count
        How many writers there are.
    """

    place: Whole
    count: int

    @classmethod
    def of(cls, writers: NDArray[Any] | None) -> Writers | None:
        """Number them; None where they aren't known, or are fewer than 5.

        Parameters
        ----------
        writers
            ndarray of shape (N,), or None.
        """
        if writers is None:
            return None
        names, place = np.unique(writers, return_inverse=True)
        if len(names) < FEWEST_WRITERS:
            return None
        return cls(place.astype(np.intp).reshape(-1), len(names))

    def some(self, indices: Whole) -> Writers:
        """Of some of the glyphs."""
        return Writers(self.place[indices], self.count)

    def sums(self, values: ArrayLike, group: Whole, groups: int) -> Real:
        """Sums of a value over the glyphs of each writer in each group.

        Parameters
        ----------
        values
            ndarray of shape (N,): of each glyph; or one for all.
        group
            ndarray of shape (N,), intp, from 0.
        groups
            How many groups there are.

        Returns
        -------
        ndarray of shape (writers, groups), float64.
        """
        weights = np.broadcast_to(np.asarray(values, dtype=np.float64), group.shape)
        at = self.place * groups + group
        flat = np.bincount(at, weights, minlength=self.count * groups).astype(np.float64)
        return flat.reshape(self.count, groups)


def design_effect(sums: Real, squares: Real | NDArray[np.int64], sizes: Real) -> Real:
    """The design effect of a mean, at least 1; NaN where fewer than 5 writers wrote the glyphs.

    Parameters
    ----------
    sums
        ndarray of shape (writers, k): of each writer the sum of a value over the glyphs, for
        each of k means.
    squares
        ndarray of shape (k,): sum of the squared values over all glyphs.
    sizes
        ndarray of shape (writers, k): glyphs of each writer; 0 for who wrote none.

    Returns
    -------
    ndarray of shape (k,), float64
        1 where all values are the same, which shows nothing of writers, and where each
        glyph has a writer of its own.

    Examples
    --------
    Six writers, all of whose 10 glyphs are read rightly or none: they tell what 6 would,
    but for 60 / 59 and 5 / 6, as variances are estimated.

    >>> sums = np.array([[10.0], [0.0]] * 3)
    >>> float(design_effect(sums, np.array([30.0]), np.full((6, 1), 10.0))[0] * 60 / 59 * 5 / 6)
    10.0
    """
    n, present = sizes.sum(axis=0), np.count_nonzero(sizes, axis=0)
    enough = present >= FEWEST_WRITERS
    few = np.where(enough, present, 2)
    total = np.where(n > 0, n, 1)
    mean = sums.sum(axis=0) / total
    between = few / (few - 1) * ((sums - mean * sizes) ** 2).sum(axis=0)
    within = (squares - total * mean**2) * total / np.maximum(total - 1, 1)
    varies = within > 1e-9 * total  # what rounding leaves of no variance is less
    effect = np.where(varies, between / np.where(varies, within, 1.0), 1.0)
    return np.where(enough, np.maximum(effect, 1.0), np.nan)


def student_effect(glyphs: ArrayLike, writers: ArrayLike) -> Real:
    """What a variance known from so few writers costs a 95 % interval: a factor on the effect.

    Parameters
    ----------
    glyphs, writers
        How many, at least 2 each; they broadcast.

    Examples
    --------
    >>> student_effect(400, [12, 400]).round(2).tolist()
    [1.25, 1.0]
    """
    from scipy.special import stdtrit

    degrees = np.asarray(writers, np.float64) - 1, np.asarray(glyphs, np.float64) - 1
    few, many = (stdtrit(one, 1 - TAIL) for one in degrees)
    factor: Real = np.asarray((few / many) ** 2)
    return factor


def student_tail(p_values: ArrayLike, glyphs: ArrayLike, writers: ArrayLike) -> Real:
    """Two-sided p-values when the variance behind them is known from so few writers only.

    The deviation that has a p-value by Student's law with a degree of freedom less than
    there are glyphs has the one given back with a degree less than there are writers.

    Parameters
    ----------
    p_values
        0 to 1; what is less than 1e-300 counts as that, since 0 has no deviation.
    glyphs, writers
        How many, at least 2 each; all three broadcast.

    Examples
    --------
    >>> student_tail([1.0, 0.05, 1e-6], 400, 12).round(6).tolist()
    [1.0, 0.075052, 0.000423]
    """
    from scipy.special import stdtr, stdtrit

    half = np.maximum(np.asarray(p_values, np.float64), LEAST_P) / 2
    deviation = stdtrit(np.asarray(glyphs, np.float64) - 1, half)
    tail: Real = np.asarray(2 * stdtr(np.asarray(writers, np.float64) - 1, deviation))
    return np.minimum(tail, 1.0)
