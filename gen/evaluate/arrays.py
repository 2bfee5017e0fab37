"""Whatever a model returned, as one array with an answer a glyph."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError

READABLE = "labels (n,), or probabilities or logits (n, C), as one array"
"""What a model may return, for hints."""


def to_array(raw: object, n: int) -> NDArray[Any]:
    """Bring what a model returned into one array with an answer a glyph.

    Lists, tensors and columns of one are taken; no tensor library is imported.

    Raises
    ------
    ModelError
        If it isn't one array of n finite answers. `where` is empty: the caller knows.
    """
    if raw is None:
        raise ModelError("", "the model returned nothing", hint="a return statement")
    if isinstance(raw, dict):
        raise ModelError(
            "", "the model returned a dict", got=f"keys {list(raw)[:5]}", hint=READABLE
        )
    try:
        array = np.asarray(_plain(raw))
    except (ValueError, TypeError) as error:
        raise ModelError(
            "", "the answers don't make one array", got=error, hint=READABLE
        ) from error
    if array.dtype == object:
        array = _from_objects(array)
    if array.dtype.kind not in "biufUS":
        raise ModelError("", "the answers aren't numbers or names", got=array.dtype, hint=READABLE)
    if array.ndim == 0 or len(array) != n:
        got = "a single one" if array.ndim == 0 else f"{len(array)}, shape {array.shape}"
        hint = None
        if array.ndim > 1 and array.shape[1] == n:
            hint = "transpose it: glyphs go down, classes across"
            if array.ndim > 2:
                hint = "return one of them alone: labels or scores"
        raise ModelError(
            "",
            "the model gave a wrong number of answers",
            got=got,
            allowed=f"{n}, one a glyph",
            hint=hint,
        )
    rows = _unreadable(array)
    if rows.any():
        raise ModelError(
            "",
            "the answers hold NaN or infinity",
            got=f"in {int(rows.sum())} of {n} glyphs, first in glyph {int(rows.argmax())}",
            hint="look for a division by zero or an exponential that overflows",
        )
    while array.ndim > 1 and array.shape[-1] == 1:
        array = array[..., 0]
    return array


def _unreadable(array: NDArray[Any]) -> NDArray[np.bool_]:
    """Where there is NaN or infinity; minus infinity beside a number is a score of no chance."""
    if array.dtype.kind != "f" or np.isfinite(array).all():
        return np.zeros(len(array), np.bool_)
    rows = array.reshape(len(array), -1)
    wrong = (np.isnan(rows) | (rows == np.inf)).any(axis=1) | ~np.isfinite(rows).any(axis=1)
    return np.asarray(wrong, np.bool_)


def _plain(raw: object) -> object:
    """Tensors to arrays by the methods that they have."""
    for method in ("detach", "cpu", "numpy"):
        if not isinstance(raw, np.ndarray) and callable(getattr(raw, method, None)):
            raw = getattr(raw, method)()
    if isinstance(raw, (list, tuple)) and raw and hasattr(raw[0], "detach"):
        return [_plain(one) for one in raw]
    return raw


def _from_objects(array: NDArray[Any]) -> NDArray[Any]:
    flat = array.ravel().tolist()
    for kind in (str, (bool, int, np.integer), (float, int, np.floating, np.integer)):
        if all(isinstance(one, kind) for one in flat):
            try:
                return np.array(flat).reshape(array.shape)
            except OverflowError:
                break
    kinds = sorted({type(one).__name__ for one in flat})
    raise ModelError(
        "", "the answers are a mixture of objects", got=", ".join(kinds), hint=READABLE
    )
