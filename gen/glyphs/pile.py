"""Rows of numbers gathered one part after another, in little memory however many come."""

from __future__ import annotations

import tempfile
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.mapped import LARGE, PIECE

Rows = NDArray[np.uint8] | NDArray[np.float32]


class Pile:
    """Rows of one length: bytes while they are bytes, float32 from the first that isn't.

    Up to 64 MiB are held; more go to a file without a name, which goes when the array does.

    Parameters
    ----------
    length
        Numbers in a row.

    Examples
    --------
    >>> pile = Pile(2)
    >>> pile.add(np.array([[0, 255]], np.uint8))
    >>> pile.add(np.array([[0.5, 1.0]]))
    >>> pile.whole().tolist()
    [[0.0, 255.0], [0.5, 1.0]]
    """

    def __init__(self, length: int) -> None:
        self._length = length
        self._dtype: np.dtype[Any] = np.dtype(np.uint8)
        self._parts: list[NDArray[Any]] = []
        self._file: IO[bytes] | None = None
        self.rows = 0

    @property
    def nbytes(self) -> int:
        """Bytes that all rows take."""
        return self.rows * self._length * self._dtype.itemsize

    def add(self, rows: NDArray[Any]) -> None:
        """Put rows of shape (n, length) on the pile."""
        if rows.dtype != np.uint8 and self._dtype == np.uint8:
            self._widen()
        self.rows += len(rows)
        rows = np.ascontiguousarray(rows, dtype=self._dtype)
        if self._file is not None:
            self._file.write(rows.data)
            return
        self._parts.append(rows)
        if self.nbytes >= LARGE:
            self._file = _unnamed()
            for part in self._parts:
                self._file.write(np.ascontiguousarray(part).data)
            self._parts = []

    def whole(self) -> NDArray[Any]:
        """All of them, ndarray of shape (rows, length), uint8 or float32."""
        if self._file is None:
            return np.concatenate(self._parts)
        self._file.flush()
        made = np.memmap(self._file, self._dtype, "r", shape=(self.rows, self._length))
        self._file.close()
        return made

    def _widen(self) -> None:
        self._dtype = np.dtype(np.float32)
        self._parts = [part.astype(np.float32) for part in self._parts]
        if self._file is None:
            return
        narrow, self._file = self._file, _unnamed()
        narrow.seek(0)
        with narrow:
            while piece := narrow.read(PIECE):
                wide = np.frombuffer(piece, np.uint8).astype(np.float32)
                self._file.write(wide.data)


def _unnamed() -> IO[bytes]:
    return tempfile.TemporaryFile(prefix="inkdrift-")
