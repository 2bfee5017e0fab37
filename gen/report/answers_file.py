"""answers.npz: every answer of a report, so that two reports can be compared glyph by glyph."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import InkdriftError
from gen.core.npz import read_npz_arrays
from gen.evaluate.answered import Answered, code_dtype
from gen.evaluate.sheet import Sheet
from gen.report.arrays import write_arrays

ANSWERS = "answers.npz"
"""Its name in the folder of a report."""

MOST_BYTES = 4 * 2**30
"""Over ten times the answers of 100,000 glyphs at 3,000 levels."""

_TEXTS = ("glyphs_digest", "recipe_digest")
_NAMES = ("cells", "classes", "failed", "failed_why")
_CODES = ("labels", "answers")
_WHOLE = ("indices", "writers")
_ALL = (*_TEXTS, *_NAMES, *_CODES, *_WHOLE)


def write_answers(
    path: Path | str, sheet: Sheet, *, glyphs_digest: str, recipe_digest: str
) -> Path:
    """Write what a model answered to every glyph in every cell, and give the path.

    The same answers give the same bytes. `numpy.load` reads the file without pickle:
    `cells` (C,) and `classes`, text; `indices` (N,), which glyphs of the set were
    scored; `labels` (N,), their true classes; `answers` (C, N), the classes answered,
    both by index into `classes`; `writers` (N,), who wrote each, or (0,) when that
    isn't known; `failed` and `failed_why`, cells without answers; `glyphs_digest` and
    `recipe_digest`, text.

    Parameters
    ----------
    path
        The file; its folder exists.
    sheet
        Filled in.
    glyphs_digest, recipe_digest
        Of what was shown.

    Raises
    ------
    OutputError
        If it can't be written.
    """
    to = Path(path)
    told = Answered.of(sheet, glyphs_digest=glyphs_digest, recipe_digest=recipe_digest)
    writers = np.zeros(0, np.int64) if told.writers is None else told.writers
    arrays: dict[str, NDArray[Any]] = {
        "glyphs_digest": _text(told.glyphs_digest),
        "recipe_digest": _text(told.recipe_digest),
        "cells": _text(told.cells),
        "classes": _text(told.classes),
        "failed": _text([cell for cell, _ in told.failed]),
        "failed_why": _text([why for _, why in told.failed]),
        "labels": told.labels,
        "answers": told.answers,
        "indices": told.indices,
        "writers": writers,
    }
    return write_arrays(to, arrays)


def read_answers(path: Path | str) -> Answered:
    """Read what `write_answers` wrote.

    Raises
    ------
    InkdriftError
        If the file isn't there, is broken or cut short, or what is in it doesn't
        fit together.
    """
    read = read_npz_arrays(Path(path), _ALL, most_bytes=MOST_BYTES)
    checked = _Checked(str(path), dict(read))
    classes, cells = checked.names("classes"), checked.names("cells")
    failed, why = checked.names("failed"), checked.names("failed_why", distinct=False)
    indices = checked.whole("indices")
    labels = checked.codes("labels", (len(indices),), len(classes))
    answers = checked.codes("answers", (len(cells), len(indices)), len(classes))
    writers = checked.whole("writers")
    if len(writers) not in {0, len(indices)}:
        raise checked.error("writers", f"shape {writers.shape}", f"shape ({len(indices)},)")
    if len(failed) != len(why) or set(failed) & set(cells):
        raise checked.error("failed", f"{len(failed)} names", "one reason each, cells left out")
    if not len(indices) or indices[0] < 0 or (np.diff(indices) <= 0).any():
        raise checked.error("indices", "another order", "at least one, 0 or more, ascending")
    return Answered(
        glyphs_digest=checked.text("glyphs_digest"),
        recipe_digest=checked.text("recipe_digest"),
        classes=classes,
        cells=cells,
        indices=indices,
        labels=labels,
        answers=answers,
        writers=writers if len(writers) else None,
        failed=tuple(zip(failed, why, strict=True)),
    )


class _Checked:
    """Arrays of a file that anybody may have written, each held to what it must be."""

    def __init__(self, where: str, arrays: dict[str, NDArray[Any]]) -> None:
        self.where, self.arrays = where, arrays

    def error(self, name: str, got: str, allowed: str) -> InkdriftError:
        return InkdriftError(
            f"{self.where}: {name}",
            "this is not what a report writes",
            got=got,
            allowed=allowed,
            hint="copy the report again, or make it again",
        )

    def text(self, name: str) -> str:
        array = self._of(name, "U", 0, "text")
        return str(array[()])

    def names(self, name: str, *, distinct: bool = True) -> tuple[str, ...]:
        names = tuple(str(one) for one in self._of(name, "U", 1, "names"))
        if distinct and len(set(names)) != len(names):
            raise self.error(name, "a name twice", "each once")
        return names

    def whole(self, name: str) -> NDArray[np.int64]:
        return self._of(name, "i", 1, "whole numbers").astype(np.int64)

    def codes(self, name: str, shape: tuple[int, ...], classes: int) -> NDArray[Any]:
        array = self._of(name, "u", len(shape), "whole numbers")
        if array.shape != shape:
            raise self.error(name, f"shape {array.shape}", f"shape {shape}")
        if array.size and int(array.max()) >= classes:
            raise self.error(name, f"class {int(array.max())}", f"0 to {classes - 1}")
        return array.astype(code_dtype(classes), copy=False)

    def _of(self, name: str, kind: str, axes: int, words: str) -> NDArray[Any]:
        array = self.arrays[name]
        if array.dtype.kind != kind or array.ndim != axes:
            got = f"dtype {array.dtype} of shape {array.shape}"
            raise self.error(name, got, f"{words}, {axes} axes" if axes else words)
        return array


def _text(value: str | tuple[str, ...] | list[str]) -> NDArray[np.str_]:
    # An empty list would come out as numbers.
    return np.array(value, dtype=np.str_)
