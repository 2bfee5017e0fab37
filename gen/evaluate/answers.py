"""What a model answered: labels, probabilities or logits, and of which classes.

The kind of answers and the way that they map to classes are settled on the
first batch; every later batch is held to them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.arrays import READABLE, to_array
from gen.evaluate.expect import Expectation

Whole = NDArray[np.intp]
Real = NDArray[np.float64]

SUM_TOLERANCE = 1e-3  # half-precision softmax over 36 classes is off by up to 5e-4
_SHOWN = 12  # class names that an error lists before it says how many more there are


@dataclass(frozen=True)
class Answers:
    """Answers to one batch.

    Attributes
    ----------
    labels
        ndarray of shape (n,), intp: index into the class names.
    confidence
        ndarray of shape (n,), float64: probability of the answered class; None
        when the model gives labels only.
    probabilities
        ndarray of shape (n, C), float64, columns in the order of the class
        names; None when the model gives labels only.
    """

    labels: Whole
    confidence: Real | None
    probabilities: Real | None


@dataclass(frozen=True)
class Key:
    """How answers are read.

    Attributes
    ----------
    kind
        "labels", "probabilities" or "logits".
    classes
        The class names.
    names
        For labels: what the model calls each class, with the class that it is.
    columns
        Otherwise: the class of each column.
    how
        The mapping in words.
    """

    kind: str
    classes: tuple[str, ...]
    names: dict[str, int]
    columns: tuple[int, ...]
    how: str


def settle(
    array: NDArray[Any],
    classes: Sequence[str],
    own: object,
    stated: Expectation | None = None,
) -> Key:
    """Fix the kind of answers and the mapping on the first batch.

    Parameters
    ----------
    array
        What `to_array` gave.
    classes
        The class names of the glyphs.
    own
        What the model itself says its classes are (`classes_`), or None.
    stated
        What was stated of its answers: their kind, and its classes in order, which
        come before its own.

    Raises
    ------
    ModelError
        If it is no known kind, another than was stated, or a class can't be told.
    """
    classes = tuple(classes)
    kind = None if stated is None else stated.answers
    mapped = None
    if stated is not None and stated.classes is not None:
        mapped = _stated_classes(stated.classes, classes, array)
    elif own is not None:
        mapped = _own_classes(own, classes)
    if array.ndim == 1:
        if kind is not None and kind != "labels":
            raise _not_as_stated(kind, array)
        return _settle_labels(array, classes, mapped)
    if array.ndim != 2 or array.dtype.kind in "US":
        raise ModelError(
            "", "the answers have a shape that can't be read", got=array.shape, hint=READABLE
        )
    sums_to_one = _sums_to_one(array)
    if kind == "labels" or (kind == "probabilities" and not sums_to_one):
        raise _not_as_stated(kind, array)
    if kind is None:
        kind = "probabilities" if sums_to_one else "logits"
    if mapped is not None:
        columns, how = tuple(mapped[0].values()), mapped[1]
    else:
        columns, how = tuple(range(len(classes))), "column k is the k-th class"
    if array.shape[1] != len(columns):
        raise ModelError(
            "",
            "the answers have a wrong number of columns",
            got=array.shape[1],
            allowed=f"{len(columns)}, one a class: "
            f"{listed(classes if mapped is None else tuple(mapped[0]))}",
        )
    return Key(kind, classes, {}, columns, how)


def read(array: NDArray[Any], key: Key) -> Answers:
    """Read a batch by a key that was settled before.

    Raises
    ------
    ModelError
        If the batch is of another kind, or answers with a class that no label has.
    """
    if key.kind == "labels":
        if array.ndim != 1:
            raise _changed(key, f"an array of shape {array.shape}")
        return Answers(_labels(array, key), None, None)
    if array.ndim != 2 or array.shape[1] != len(key.columns) or array.dtype.kind in "US":
        raise _changed(key, f"an array of shape {array.shape}")
    shares = array.astype(np.float64)
    if key.kind == "logits":
        with np.errstate(over="ignore"):  # two ends of the float range lie infinitely far apart
            shares = np.exp(shares - shares.max(axis=1, keepdims=True))
        shares /= shares.sum(axis=1, keepdims=True)
    elif not _sums_to_one(array):
        raise _changed(key, "rows that are negative or don't sum to 1")
    answered = array.argmax(axis=1)
    columns = np.array(key.columns, dtype=np.intp)
    whole = shares
    if key.columns != tuple(range(len(key.classes))):
        whole = np.zeros((len(array), len(key.classes)))
        whole[:, columns] = shares
    confidence = np.minimum(shares[np.arange(len(array)), answered], 1.0)
    return Answers(columns[answered], confidence, whole)


def listed(names: Sequence[str]) -> str:
    """Names for an error, cut where the list gets long.

    Examples
    --------
    >>> listed(["a", "b"])
    'a, b'
    """
    text = ", ".join(names[:_SHOWN])
    return f"{text} and {len(names) - _SHOWN} more" if len(names) > _SHOWN else text


def _sums_to_one(array: NDArray[Any]) -> bool:
    sums = array.sum(axis=1, dtype=np.float64)
    return bool((array >= 0).all() and (np.abs(sums - 1) <= SUM_TOLERANCE).all())


def _texts(array: NDArray[Any]) -> NDArray[Any]:
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


def _not_as_stated(kind: str, array: NDArray[Any]) -> ModelError:
    if array.ndim == 2 and kind == "probabilities":
        sums = array.sum(axis=1, dtype=np.float64)
        got = f"rows with sums from {sums.min():.4g} to {sums.max():.4g}, least {array.min():.4g}"
    else:
        got = f"an array of shape {array.shape}"
    return ModelError(
        "",
        "the answers are of another kind than is stated",
        got=got,
        allowed=kind,
        hint="leave out answers, and the kind is found",
    )


def _stated_classes(
    stated: tuple[str, ...], classes: tuple[str, ...], array: NDArray[Any]
) -> tuple[dict[str, int], str]:
    """The classes that were stated, mapped by name; numbers are places in their list."""
    by_name = {name: place for place, name in enumerate(classes)}
    for name in stated:
        if name not in by_name:
            raise _stranger(name, "one of the classes that are stated", classes)
    mapped = {name: by_name[name] for name in stated}
    how = "in the order that is stated"
    if array.ndim == 1:
        texts = set(_texts(np.unique(array)).tolist())
        places = {str(place): by_name[name] for place, name in enumerate(stated)}
        numbers = array.dtype.kind not in "US"
        if texts <= set(places) if numbers else not texts <= set(mapped) and texts <= set(places):
            return places, f"{how}: k is its k-th"
        how = "by name"
    return mapped, how


def _own_classes(own: object, classes: tuple[str, ...]) -> tuple[dict[str, int], str]:
    """What the model calls its classes, mapped by name, or else by place."""
    try:
        array = to_array(own, len(own))  # type: ignore[arg-type]
    except (TypeError, ModelError):
        array = np.empty((0, 0))
    if array.ndim != 1 or not array.size:
        kind = type(own).__name__
        raise ModelError("", "the model's own classes_ can't be read", got=kind, allowed="a list")
    names = [str(name) for name in _texts(array)]
    by_name = {name: place for place, name in enumerate(classes)}
    if all(name in by_name for name in names):
        return {name: by_name[name] for name in names}, "by name, from the model's own classes_"
    by_place = {str(place): place for place in range(len(classes))}
    if all(name in by_place for name in names):
        return (
            {name: by_place[name] for name in names},
            "the model's own classes_ are numbers: k is the k-th class",
        )
    stranger = next(name for name in names if name not in by_name)
    raise _stranger(stranger, "one of its own classes_", classes)


def _settle_labels(
    array: NDArray[Any],
    classes: tuple[str, ...],
    mapped: tuple[dict[str, int], str] | None,
) -> Key:
    if mapped is not None:
        return Key("labels", classes, mapped[0], (), mapped[1])
    by_name = {name: place for place, name in enumerate(classes)}
    by_place = {str(place): place for place in range(len(classes))}
    if array.dtype.kind in "US":
        return Key("labels", classes, by_name, (), "by name")
    # Numbers are places, unless the classes themselves are numbers of another run (1 to 26)
    # and every answer is one of them.
    numbered = all(name.isdecimal() for name in classes) and by_name != by_place
    if numbered and np.isin(_texts(np.unique(array)), classes).all():
        return Key("labels", classes, by_name, (), "by name: the classes are numbers")
    return Key("labels", classes, by_place, (), "k is the k-th class")


def _labels(array: NDArray[Any], key: Key) -> Whole:
    unique, inverse = np.unique(array, return_inverse=True)
    places = np.empty(len(unique), dtype=np.intp)
    for at, name in enumerate(_texts(unique)):
        place = key.names.get(str(name))
        if place is None:
            many = int((inverse == at).sum())
            raise _stranger(str(name), f"the answer to {many} of {len(array)} glyphs", key.classes)
        places[at] = place
    return places[inverse.reshape(-1)]


def _stranger(name: str, how: str, classes: tuple[str, ...]) -> ModelError:
    hint = None
    if name == str(len(classes)) and name not in classes:
        hint = "labels counted from 1? Numbers count classes from 0"
    return ModelError(
        "",
        "the model knows a class that no label has",
        got=f'"{name}", {how}',
        allowed=listed(classes),
        hint=hint,
    )


def _changed(key: Key, got: str) -> ModelError:
    width = f", {len(key.columns)} columns" if key.columns else ""
    return ModelError(
        "",
        "the answers are of another kind than in the first batch",
        got=got,
        allowed=f"{key.kind}{width}",
    )
