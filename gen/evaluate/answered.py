"""What one model answered, kept so that it can be held against another's answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.sheet import Sheet

Codes = NDArray[np.unsignedinteger[Any]]


def code_dtype(classes: int) -> np.dtype[np.unsignedinteger[Any]]:
    """The smaller whole number that names this many classes by index."""
    return np.dtype(np.uint8 if classes <= 255 else np.uint16)


@dataclass(frozen=True, eq=False)
class Answered:
    """Every answer of one model, by cell and glyph.

    Attributes
    ----------
    glyphs_digest, recipe_digest
        Of what was shown.
    classes
        Class names.
    cells
        Names of the C cells that have answers, nominal first if it has any.
    indices
        ndarray of shape (N,), int64, ascending: which glyphs of the set were scored.
    labels
        ndarray of shape (N,): their true classes, by index.
    answers
        ndarray of shape (C, N): the classes answered, by index; uint8 where there are
        at most 255 classes, else uint16, as labels are.
    writers
        ndarray of shape (N,), int64: who wrote each; None when that isn't known.
    failed
        (cell, why) of the cells that have no answers.
    """

    glyphs_digest: str
    recipe_digest: str
    classes: tuple[str, ...]
    cells: tuple[str, ...]
    indices: NDArray[np.int64]
    labels: Codes
    answers: Codes
    writers: NDArray[np.int64] | None
    failed: tuple[tuple[str, str], ...] = ()

    @classmethod
    def of(cls, sheet: Sheet, *, glyphs_digest: str, recipe_digest: str) -> Answered:
        """What an answer sheet holds.

        Parameters
        ----------
        sheet
            Filled in.
        glyphs_digest, recipe_digest
            Of what was shown.
        """
        dtype = code_dtype(len(sheet.classes))
        writers = sheet.writers
        size = (len(sheet.told), int(sheet.scored.sum()))
        answers = np.empty(size, dtype)
        for place, cell in enumerate(sheet.told):
            answers[place] = sheet.row(cell).answered
        return cls(
            glyphs_digest=glyphs_digest,
            recipe_digest=recipe_digest,
            classes=sheet.classes,
            cells=sheet.told,
            indices=np.flatnonzero(sheet.scored).astype(np.int64),
            labels=sheet.labels.astype(dtype),
            answers=answers,
            writers=None if writers is None else writers.astype(np.int64),
            failed=tuple(sheet.failed.items()),
        )

    def right(self, cell: str, indices: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Which of some scored glyphs were read rightly in a cell, ndarray of shape (n,).

        Parameters
        ----------
        cell
            One of `cells`.
        indices
            ndarray of shape (n,), ascending: glyphs that are all among `indices`.
        """
        at = np.searchsorted(self.indices, indices)
        right: NDArray[np.bool_] = self.answers[self.cells.index(cell)][at] == self.labels[at]
        return right
