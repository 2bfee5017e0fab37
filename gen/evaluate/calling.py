"""Calling somebody's model: in batches that it can take, and without its prints in ours."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.arrays import to_array
from gen.evaluate.plug import FAILS
from gen.evaluate.their_code import in_their_house, own_words, said

_NO_MEMORY = (
    "out of memory",
    "outofmemory",
    "bad_alloc",
    "memoryerror",
    "insufficient memory",
    "cannot allocate memory",
    "can't allocate memory",
    "failed to allocate memory",
)
"""Words of PyTorch, CUDA, C++, OpenCV, ONNX runtimes and operating systems, in small letters."""


class Caller:
    """Hands arrays to a model, in parts where it takes no more at once.

    Parameters
    ----------
    ask
        What answers an array.
    folder
        Where the model's neighbours are imported from, or None.
    most
        The most glyphs in one call; None for no limit.

    Attributes
    ----------
    notes
        What happened, a line each.
    """

    def __init__(
        self, ask: Callable[[Any], object], *, folder: Path | None, most: int | None
    ) -> None:
        self._ask = ask
        self._folder = folder
        self.most = most
        self.notes: list[str] = []
        self._halved = False

    def __call__(self, handed: NDArray[Any]) -> NDArray[Any]:
        """Answers to an array, as one array with an answer a glyph.

        When the model has no memory left, the batch is halved, once, for the rest of
        the run, and that is noted.

        Raises
        ------
        ModelError
            If the model fails, or what it gives isn't an answer a glyph.
        """
        most = min(self.most or len(handed), len(handed))
        try:
            return self._in_parts(handed, most)
        except ModelError as error:
            if self._halved or most < 2 or not short_of_memory(error):
                raise
            first = error
        half = (most + 1) // 2
        try:
            answers = self._in_parts(handed, half)
        except ModelError:
            raise first from first.__cause__
        self._halved, self.most = True, half
        self.notes.append(
            f"memory was short at {most} glyphs in one batch: it was halved, to at most {half}"
        )
        return answers

    def _in_parts(self, handed: NDArray[Any], most: int) -> NDArray[Any]:
        n = len(handed)
        if n <= most:
            return self._once(handed)
        parts = [self._once(handed[start : start + most]) for start in range(0, n, most)]
        if len({part.shape[1:] for part in parts}) > 1:
            shapes = ", ".join(str(shape) for shape in sorted({part.shape for part in parts}))
            raise ModelError("", "the answers differ in shape from batch to batch", got=shapes)
        return np.concatenate(parts)

    def _once(self, handed: NDArray[Any]) -> NDArray[Any]:
        try:
            with in_their_house(self._folder):
                return to_array(self._ask(handed), len(handed))
        except ModelError:
            raise
        except (Exception, SystemExit) as error:
            raise ModelError("", FAILS, got=said(error)) from error


def short_of_memory(error: ModelError) -> bool:
    """Whether a model failed for want of memory, by the kind of its error or its own words.

    Examples
    --------
    >>> short_of_memory(ModelError("", "the model fails", got="CUDA out of memory. Tried ..."))
    True
    """
    if isinstance(error.__cause__, MemoryError):
        return True
    cause = "" if error.__cause__ is None else own_words(error.__cause__)
    words = f"{error} {cause}".lower()
    return any(one in words for one in _NO_MEMORY)
