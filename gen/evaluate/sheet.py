"""The answer sheet of a run: what the model said to every glyph in every cell.

Everything that statistics need is in it, so that glyphs can be paired, resampled and
followed from level to level. It takes 14 bytes a glyph and cell; past 256 MB it lies in
a temporary file instead of memory.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

from gen.core.errors import InkdriftError
from gen.evaluate.answers import Answers

Whole = NDArray[np.intp]

IN_MEMORY_BYTES = 256 * 2**20
_SAME = 1e-4  # float32 sums over a thousand inputs differ by less, batch by batch


@dataclass(frozen=True)
class Row:
    """What the model said to every scored glyph in one cell.

    Attributes
    ----------
    answered
        ndarray of shape (N,), int16: the class answered, by index.
    right
        ndarray of shape (N,), bool.
    confidence
        ndarray of shape (N,), float32: of the answered class; None when the model
        gives labels only.
    true_share
        ndarray of shape (N,), float32: what the true class got; None as before.
    squared
        ndarray of shape (N,), float32: squared errors summed over the classes; None
        as before.
    ink_lost
        Mean share of ink that left the frame.
    """

    answered: NDArray[np.int16]
    right: NDArray[np.bool_]
    confidence: NDArray[np.float32] | None
    true_share: NDArray[np.float32] | None
    squared: NDArray[np.float32] | None
    ink_lost: float


@dataclass(frozen=True)
class Record:
    """Answers to some glyphs in one cell, as a sheet holds them.

    Attributes
    ----------
    answered
        ndarray of shape (n,), int16.
    shares
        ndarray of shape (3, n), float32: confidence, what the true class got, squared
        errors; None when the model gives labels only.
    ink_lost
        ndarray of shape (n,), float64.
    """

    answered: NDArray[np.int16]
    shares: NDArray[np.float32] | None
    ink_lost: NDArray[np.float64]

    @classmethod
    def of(cls, answers: Answers, labels: Whole, ink_lost: NDArray[np.float64]) -> Record:
        """What is kept of a model's answers.

        Parameters
        ----------
        answers
            To n glyphs.
        labels
            ndarray of shape (n,): their true classes, by index.
        ink_lost
            ndarray of shape (n,): share of each glyph's ink that left the frame.
        """
        said = answers.labels.astype(np.int16)
        given = answers.probabilities
        if given is None or answers.confidence is None:
            return cls(said, None, ink_lost)
        true = given[np.arange(len(labels)), labels]
        # The sum over classes of (share - truth)^2, truth being 1 for one class and else 0.
        squared = np.einsum("nc,nc->n", given, given) - 2 * true + 1
        shares = np.stack([answers.confidence, true, squared]).astype(np.float32)
        return cls(said, shares, ink_lost)

    def agrees(self, other: Record) -> bool:
        """Whether two records say the same, ink aside, up to sums taken in another order."""
        if not np.array_equal(self.answered, other.answered):
            return False
        if self.shares is None or other.shares is None:
            return self.shares is other.shares
        return bool(np.allclose(self.shares, other.shares, atol=_SAME))


class Sheet:
    """What a model said to N glyphs in some cells, filled in block by block.

    Parameters
    ----------
    cells
        Names of the cells, nominal first.
    labels
        ndarray of shape (N,): true classes, by index.
    writers
        ndarray of shape (N,), who wrote each; None when that isn't known.
    classes
        Class names.
    """

    def __init__(
        self,
        cells: Sequence[str],
        labels: Whole,
        *,
        writers: Whole | None,
        classes: Sequence[str],
    ) -> None:
        self.cells = tuple(cells)
        self.classes = tuple(classes)
        self._labels, self._writers = labels, writers
        self._place = {name: place for place, name in enumerate(self.cells)}
        size = (len(self.cells), len(labels))
        self._answered: NDArray[np.int16] = self._room(size, np.int16)
        self._shares: tuple[NDArray[np.float32], ...] | None = None
        self._ink_lost = np.zeros(len(self.cells))
        self.scored: NDArray[np.bool_] = np.ones(len(labels), dtype=np.bool_)
        self.failed: dict[str, str] = {}

    @property
    def labels(self) -> Whole:
        """True classes of the scored glyphs, ndarray of shape (N,)."""
        return self._labels[self.scored]

    @property
    def writers(self) -> Whole | None:
        """Who wrote each scored glyph, or None."""
        return None if self._writers is None else self._writers[self.scored]

    @property
    def told(self) -> tuple[str, ...]:
        """Names of the cells that have answers."""
        return tuple(name for name in self.cells if name not in self.failed)

    def leave_out(self, indices: Whole) -> None:
        """Glyphs that aren't scored in any cell."""
        self.scored[indices] = False

    def fail(self, cell: str, why: str) -> None:
        """Note that the model could not answer in a cell; it then has no row."""
        self.failed.setdefault(cell, why)

    def put(self, cell: str, indices: Whole, record: Record) -> None:
        """Write down what was said of some glyphs in one cell.

        Parameters
        ----------
        cell
            Name of the cell.
        indices
            ndarray of shape (n,): which glyphs.
        record
            The answers.
        """
        row = self._place[cell]
        self._answered[row, indices] = record.answered
        self._ink_lost[row] += record.ink_lost.sum()
        if record.shares is None:
            return
        if self._shares is None:
            size = self._answered.shape
            self._shares = tuple(self._room(size, np.float32) for _ in range(3))
        for room, share in zip(self._shares, record.shares, strict=True):
            room[row, indices] = share

    def fill(
        self, cell: str, indices: Whole, answers: Answers, *, ink_lost: NDArray[np.float64]
    ) -> Record:
        """Write down a model's answers to some glyphs in one cell, and give what was kept."""
        record = Record.of(answers, self._labels[indices], ink_lost)
        self.put(cell, indices, record)
        return record

    def row(self, cell: str) -> Row:
        """All answers of one cell, glyphs that aren't scored left out."""
        at = self._place[cell]
        answered = np.asarray(self._answered[at][self.scored])
        labels = self.labels
        lost = float(self._ink_lost[at]) / max(len(labels), 1)
        if self._shares is None:
            return Row(answered, answered == labels, None, None, None, lost)
        confidence, true, squared = (np.asarray(one[at][self.scored]) for one in self._shares)
        return Row(answered, answered == labels, confidence, true, squared, lost)

    def right(self, cells: Sequence[str]) -> NDArray[np.bool_]:
        """Which glyphs were read rightly, ndarray of shape (cells, N), bool."""
        places = [self._place[name] for name in cells]
        right: NDArray[np.bool_] = (
            np.stack([self._answered[at][self.scored] for at in places]) == self.labels
        )
        return right

    def _room(self, size: tuple[int, int], dtype: DTypeLike) -> NDArray[Any]:
        if np.dtype(dtype).itemsize * size[0] * size[1] <= IN_MEMORY_BYTES:
            return np.zeros(size, dtype)
        # The file has no name, and goes with the map that holds it.
        with tempfile.TemporaryFile() as file:
            if hasattr(os, "posix_fallocate"):
                bytes_needed = np.dtype(dtype).itemsize * size[0] * size[1]
                try:
                    # A file with holes on a full disk would end the process when it is filled.
                    os.posix_fallocate(file.fileno(), 0, bytes_needed)
                except OSError as error:
                    raise InkdriftError(
                        tempfile.gettempdir(),
                        "there is no room for the answers",
                        got=f"{bytes_needed / 1e6:,.0f} MB wanted: {error.strerror}",
                        hint="TMPDIR, where there is room, or fewer glyphs (--count)",
                    ) from error
            return np.memmap(file, dtype, mode="r+", shape=size)
