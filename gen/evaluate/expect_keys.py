"""The keys by which a model says what it expects, and which values each may have."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import partial
from typing import Any

import numpy as np

from gen.core.errors import ModelError
from gen.recipe.spelling import nearest_hint, quoted, shown

LAYOUTS = ("NHW", "flat", "N1HW", "NHW1")
"""The layouts, in the order in which they are tried."""

DTYPES = ("float32", "float64", "uint8")
INKS = ("bright", "dark")
AXES = ("rows", "columns")
ANSWERS = ("labels", "probabilities", "logits")

_FAR = 1e30  # beyond this float32 has no room for the scale between the two ends


def wrong(key: str, value: object, allowed: str, *, hint: str | None = None) -> ModelError:
    """The error for a value that a key can't have."""
    return ModelError(
        "what the model expects", f"{key} can't be this", got=value, allowed=allowed, hint=hint
    )


def number(key: str, value: Any) -> float:
    """A finite number, whatever kind it came as."""
    if isinstance(value, bool) or not isinstance(value, (int, float, np.number, Decimal)):
        raise wrong(key, _shown(value), "a number")
    if not math.isfinite(value) or abs(float(value)) > _FAR:
        raise wrong(key, _shown(value), f"a finite number, at most {_FAR:g} either way")
    return float(value)


def whole(key: str, value: Any) -> int:
    """A whole number of at least 1."""
    if isinstance(value, bool) or not isinstance(value, (int, np.integer)) or int(value) < 1:
        raise wrong(key, _shown(value), "a whole number, 1 or more")
    return int(value)


def _one_of(allowed: tuple[str, ...], key: str, value: object) -> str:
    if not isinstance(value, str) or value not in allowed:
        text = ", ".join(f'"{name}"' for name in allowed)
        raise wrong(key, _shown(value), text, hint=nearest_hint(value, allowed))
    return value


def _above_zero(key: str, value: Any) -> float:
    if number(key, value) <= 0:
        raise wrong(key, value, "a number above 0")
    return number(key, value)


def _frame(key: str, value: object) -> tuple[int, int]:
    if not isinstance(value, (list, tuple)) or len(value) != 2:
        raise wrong(key, _shown(value), "[H, W], two whole numbers")
    return whole(key, value[0]), whole(key, value[1])


def _names(key: str, value: object) -> tuple[str, ...]:
    kinds = (str, int, np.integer)
    if not isinstance(value, (list, tuple, np.ndarray)) or not len(value):
        raise wrong(key, _shown(value), "a list of names, in the order of the model's output")
    for name in value:
        if isinstance(name, bool) or not isinstance(name, kinds):
            raise wrong(key, _shown(name), "names, in quotes")
    names = tuple(str(name) for name in value)
    for name in names:
        if names.count(name) > 1:
            raise wrong(key, f"{quoted(name)} {names.count(name)} times", "each name once")
    return names


def _shown(value: object) -> object:
    if isinstance(value, (str, Decimal)):
        return shown(value)
    return value


CHECKS: Mapping[str, Callable[[str, Any], Any]] = {
    "layout": partial(_one_of, LAYOUTS),
    "dtype": partial(_one_of, DTYPES),
    "low": number,
    "high": number,
    "mean": number,
    "deviation": _above_zero,
    "ink": partial(_one_of, INKS),
    "axes": partial(_one_of, AXES),
    "frame": _frame,
    "classes": _names,
    "answers": partial(_one_of, ANSWERS),
    "batch": whole,
}
"""Each key with what turns its value into the one that is kept, or refuses it."""
