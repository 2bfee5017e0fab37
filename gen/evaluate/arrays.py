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
        turned = array.ndim == 2 and array.shape[1] == n
        raise ModelError(
            "",
            "the model gave a wrong number of answers",
            got=got,
            allowed=f"{n}, one a glyph",
            hint="transpose it: glyphs go down, classes across" if turned else None,
        )
    if array.dtype.kind == "f" and not np.isfinite(array).all():
        rows = ~np.isfinite(array.reshape(n, -1)).all(axis=1)
        raise ModelError(
            "",
            "the answers hold NaN or infinity",
            got=f"in {int(rows.sum())} of {n} glyphs, first in glyph {int(rows.argmax())}",
            hint="look for a division by zero or an exponential that overflows",
        )
    while array.ndim > 1 and array.shape[-1] == 1:
        array = array[..., 0]
    return array


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
    for kind in (str, (bool, int, np.integer)):
        if all(isinstance(one, kind) for one in flat):
            try:
                return np.array(flat).reshape(array.shape)
            except OverflowError:
                break
    kinds = sorted({type(one).__name__ for one in flat})
    raise ModelError(
        "", "the answers are a mixture of objects", got=", ".join(kinds), hint=READABLE
    )
