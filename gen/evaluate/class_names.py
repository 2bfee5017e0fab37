"""What a model calls its classes, and which of ours each is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.arrays import to_array

_SHOWN = 12  # class names that an error lists before it says how many more there are


def listed(names: Sequence[str]) -> str:
    """Names for an error, cut where the list gets long.

    Examples
    --------
    >>> listed(["a", "b"])
    'a, b'
    """
    text = ", ".join(names[:_SHOWN])
    return f"{text} and {len(names) - _SHOWN} more" if len(names) > _SHOWN else text


def texts(array: NDArray[Any]) -> NDArray[Any]:
    """Labels as text: 7, 7.0 and "7" are all "7"."""
    if array.dtype.kind == "S":
        return np.char.decode(array, "utf-8", "backslashreplace")
    if array.dtype.kind == "U":
        return array
    if array.dtype.kind == "f":
        array = array.astype(np.float64)
        odd = (array != np.rint(array)) | (np.abs(array) >= 2**53)
        if odd.any():
            raise ModelError(
                "",
                "the answers are one fraction a glyph: neither labels nor a column a class",
                got=f"{float(array[odd][0]):g}, for one",
                hint="two columns for two classes, or labels as whole numbers",
            )
        array = array.astype(np.int64)
    elif array.dtype.kind == "b":
        array = array.astype(np.int64)
    return array.astype(str)


def stated_classes(
    stated: tuple[str, ...], classes: tuple[str, ...], array: NDArray[Any]
) -> tuple[dict[str, int], str]:
    """The classes that were stated, mapped by name; numbers are places in their list."""
    by_name = {name: place for place, name in enumerate(classes)}
    for name in stated:
        if name not in by_name:
            raise stranger(name, "one of the classes that are stated", classes)
    mapped = {name: by_name[name] for name in stated}
    how = "in the order that is stated"
    if array.ndim == 1:
        said = set(texts(np.unique(array)).tolist())
        places = {str(place): by_name[name] for place, name in enumerate(stated)}
        numbers = array.dtype.kind not in "US"
        if said <= set(places) if numbers else not said <= set(mapped) and said <= set(places):
            return places, f"{how}: k is its k-th"
        how = "by name"
    return mapped, how


def own_classes(own: object, classes: tuple[str, ...]) -> tuple[dict[str, int], str]:
    """What the model calls its classes, mapped by name, or else by place."""
    try:
        array = to_array(own, len(own))  # type: ignore[arg-type]
    except (TypeError, ModelError):
        array = np.empty((0, 0))
    if array.ndim != 1 or not array.size:
        kind = type(own).__name__
        raise ModelError("", "the model's own classes_ can't be read", got=kind, allowed="a list")
    names = [str(name) for name in texts(array)]
    by_name = {name: place for place, name in enumerate(classes)}
    if all(name in by_name for name in names):
        return {name: by_name[name] for name in names}, "by name, from the model's own classes_"
    by_place = {str(place): place for place in range(len(classes))}
    if all(name in by_place for name in names):
        return (
            {name: by_place[name] for name in names},
            "the model's own classes_ are numbers: k is the k-th class",
        )
    unknown = next(name for name in names if name not in by_name)
    if "0" in names:  # they aren't counted from 1: some of them are missing here
        hint = f"name all {len(names)} classes that the model knows, in the order of the labels"
        raise stranger(unknown, "one of its own classes_", classes, hint)
    raise stranger(unknown, "one of its own classes_", classes)


def stranger(name: str, how: str, classes: tuple[str, ...], hint: str | None = None) -> ModelError:
    """The error for a class that no label has; `how` says where it came from."""
    if hint is None and name == str(len(classes)) and name not in classes:
        hint = "labels counted from 1? Numbers count classes from 0"
    return ModelError(
        "",
        "the model knows a class that no label has",
        got=f'"{name}", {how}',
        allowed=listed(classes),
        hint=hint,
    )
