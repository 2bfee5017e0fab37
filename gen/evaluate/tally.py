"""Running counts of one cell: all that is kept of its glyphs.

Memory holds a tally a cell and the block in hand, however many glyphs there are.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.answers import Answers

Whole = NDArray[np.intp]


class Tally:
    """What the answers to one cell add up to.

    Parameters
    ----------
    classes
        How many classes there are.

    Attributes
    ----------
    n, correct
        Glyphs, and those read rightly.
    confusion
        ndarray of shape (C, C), int64: rows are true classes, columns answers.
    confidence_right, confidence_wrong
        Sums of the confidence in right and in wrong answers; 0 without confidences.
    only_nominal, only_here
        Glyphs read rightly at one of the two only.
    ink_lost
        Sum of the share of ink that left the frame.

    Examples
    --------
    >>> tally = Tally(2)
    >>> right = tally.add(Answers(np.array([0, 1]), None, None), np.array([0, 0]),
    ...                   ink_lost=np.zeros(2), nominal_right=np.array([False, True]))
    >>> tally.correct, tally.only_here, tally.only_nominal
    (1, 1, 1)
    """

    def __init__(self, classes: int) -> None:
        self.n = 0
        self.correct = 0
        self.confusion = np.zeros((classes, classes), dtype=np.int64)
        self.confidence_right = 0.0
        self.confidence_wrong = 0.0
        self.only_nominal = 0
        self.only_here = 0
        self.ink_lost = 0.0
        self.has_confidence = False

    @property
    def class_counts(self) -> NDArray[np.int64]:
        """Glyphs of each class, ndarray of shape (C,)."""
        total: NDArray[np.int64] = self.confusion.sum(axis=1)
        return total

    @property
    def class_correct(self) -> NDArray[np.int64]:
        """Glyphs of each class read rightly, ndarray of shape (C,)."""
        return self.confusion.diagonal()

    def add(
        self,
        answers: Answers,
        labels: Whole,
        *,
        ink_lost: NDArray[np.float64],
        nominal_right: NDArray[np.bool_] | None = None,
    ) -> NDArray[np.bool_]:
        """Count one block.

        Parameters
        ----------
        answers
            What the model said of the n glyphs of the block.
        labels
            ndarray of shape (n,): the true classes.
        ink_lost
            ndarray of shape (n,): share of each glyph's ink that left the frame.
        nominal_right
            ndarray of shape (n,), bool: which of the same glyphs were read rightly
            at nominal; None for nominal itself.

        Returns
        -------
        ndarray of shape (n,), bool: which were read rightly here.
        """
        size = len(self.confusion)
        right: NDArray[np.bool_] = answers.labels == labels
        self.n += len(labels)
        self.correct += int(np.count_nonzero(right))
        self.confusion += np.bincount(
            labels * size + answers.labels, minlength=size * size
        ).reshape(size, size)
        if nominal_right is not None:
            self.only_nominal += int(np.count_nonzero(nominal_right & ~right))
            self.only_here += int(np.count_nonzero(right & ~nominal_right))
        if answers.confidence is not None:
            self.has_confidence = True
            self.confidence_right += float(answers.confidence[right].sum())
            self.confidence_wrong += float(answers.confidence[~right].sum())
        self.ink_lost += float(ink_lost.sum())
        return right
