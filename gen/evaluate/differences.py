"""Many paired differences at once, with writers where they are known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.paired import NEWCOMBE, mcnemar_exact, newcombe_paired
from gen.evaluate.writers import WIDENED, Writers, design_effect, student_effect, student_tail

Real = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Differences:
    """Differences of k pairs of answers to the same N glyphs.

    Attributes
    ----------
    only_first, only_second
        ndarrays of shape (k,), int64: glyphs read rightly by one of the two only.
    value, low, high
        ndarrays of shape (k,), float64: accuracy of the first less that of the second, and
        the ends of its 95 % interval.
    p_values
        ndarray of shape (k,): McNemar's exact test, uncorrected.
    method
        Name of the interval.

    Notes
    -----
    Where 5 writers or more wrote the glyphs, intervals and tests are those of effective
    counts, by the design effect of each difference, and p-values are read by Student's law.

    Examples
    --------
    >>> rows = np.arange(12) < 10, np.arange(12) < 0
    >>> float(Differences.of([rows]).p_values[0]) == 2 / 1024
    True
    """

    only_first: NDArray[np.int64]
    only_second: NDArray[np.int64]
    value: Real
    low: Real
    high: Real
    p_values: Real
    method: str

    @classmethod
    def of(cls, pairs: Iterable[tuple[Mask, Mask]], writers: Writers | None = None) -> Differences:
        """Work them out.

        Parameters
        ----------
        pairs
            Which glyphs were read rightly by the first and by the second, each of shape (N,).
        writers
            Of the glyphs; None when they aren't known or too few.
        """
        rows = [_counted(first, second, writers) for first, second in pairs]
        table = np.array([row for row, _ in rows], dtype=np.int64).reshape(-1, 4).T
        told = table / np.array([effect for _, effect in rows])
        p_values, method, n = mcnemar_exact(told[1], told[2]), NEWCOMBE, table.sum(axis=0)
        if writers is not None:
            told, method = told / student_effect(n, writers.count), NEWCOMBE + WIDENED
            p_values = student_tail(p_values, n, writers.count)
        low, high = newcombe_paired(*told)
        _, first, second, _ = table
        return cls(first, second, (first - second) / n, low, high, p_values, method)


def _counted(
    first: Mask, second: Mask, writers: Writers | None
) -> tuple[tuple[int, int, int, int], float]:
    """Glyphs read rightly by both, by one only, by neither; and the design effect."""
    both = int(np.count_nonzero(first & second))
    only_first, only_second = (int(np.count_nonzero(one)) - both for one in (first, second))
    effect = 1.0
    if writers is not None:
        change, whole = first.astype(np.int8) - second, np.zeros(len(first), np.intp)
        sums, sizes = (writers.sums(each, whole, 1) for each in (change, 1.0))
        effect = float(design_effect(sums, np.array([only_first + only_second]), sizes)[0])
    return (both, only_first, only_second, len(first) - both - only_first - only_second), effect
