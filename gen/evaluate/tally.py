"""What the answers to one cell add up to."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.sheet import Row

Whole = NDArray[np.intp]


@dataclass(frozen=True)
class Tally:
    """Counts of one cell.

    Attributes
    ----------
    n, correct
        Glyphs, and those read rightly.
    confusion
        ndarray of shape (C, C), int64: rows are true classes, columns answers.
    confidence_right, confidence_wrong
        Mean confidence in right and in wrong answers; None without confidences, or
        without such answers.
    ink_lost
        Mean share of ink that left the frame.
    """

    n: int
    correct: int
    confusion: NDArray[np.int64]
    confidence_right: float | None
    confidence_wrong: float | None
    ink_lost: float

    @property
    def class_counts(self) -> NDArray[np.int64]:
        """Glyphs of each class, ndarray of shape (C,)."""
        total: NDArray[np.int64] = self.confusion.sum(axis=1)
        return total

    @property
    def class_correct(self) -> NDArray[np.int64]:
        """Glyphs of each class read rightly, ndarray of shape (C,)."""
        return self.confusion.diagonal()

    @property
    def misread(self) -> tuple[tuple[int, int, int], ...]:
        """(true class, answer, glyphs) of every pair that occurs, right answers left out."""
        true, answered = np.nonzero(self.confusion)
        return tuple(
            (int(a), int(b), int(self.confusion[a, b]))
            for a, b in zip(true, answered, strict=True)
            if a != b
        )


def tally(row: Row, labels: Whole, *, classes: int) -> Tally:
    """Count the answers of one cell.

    Parameters
    ----------
    row
        The answers.
    labels
        ndarray of shape (N,): true classes, by index.
    classes
        How many classes there are.

    Examples
    --------
    >>> answered = np.array([0, 1, 1], np.int16)
    >>> labels = np.array([0, 0, 1])
    >>> counts = tally(Row(answered, answered == labels, None, None, None, 0.0), labels, classes=2)
    >>> counts.correct, counts.misread
    (2, ((0, 1, 1),))
    """
    pairs = labels * classes + row.answered
    return Tally(
        n=len(labels),
        correct=int(np.count_nonzero(row.right)),
        confusion=np.bincount(pairs, minlength=classes**2).reshape(classes, classes),
        confidence_right=_mean(row.confidence, row.right),
        confidence_wrong=_mean(row.confidence, ~row.right),
        ink_lost=row.ink_lost,
    )


def _mean(confidence: NDArray[np.float32] | None, which: NDArray[np.bool_]) -> float | None:
    if confidence is None or not which.any():
        return None
    return float(confidence[which].mean(dtype=np.float64))
