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
from gen.evaluate.arrays import READABLE
from gen.evaluate.class_names import listed, own_classes, stated_classes, stranger, texts
from gen.evaluate.expect import Expectation

Whole = NDArray[np.intp]
Real = NDArray[np.float64]

SUM_TOLERANCE = 1e-3  # half-precision softmax over 36 classes is off by up to 5e-4


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
        mapped = stated_classes(stated.classes, classes, array)
    elif own is not None:
        mapped = own_classes(own, classes)
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
            hint=_columns_hint(array.shape[1], len(columns)) if mapped is None else None,
        )
    return Key(kind, classes, {}, columns, how)


def _columns_hint(columns: int, classes: int) -> str | None:
    """What to try; more names than the labels need are taken, and fewer aren't."""
    if columns > classes:
        return f"{columns} class names in the order of the columns (--classes, or classes=)"
    if columns > 1:
        return f"is it meant for these glyphs? it knows {columns} classes, and they have {classes}"
    return None


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


def _sums_to_one(array: NDArray[Any]) -> bool:
    sums = array.sum(axis=1, dtype=np.float64)
    return bool((array >= 0).all() and (np.abs(sums - 1) <= SUM_TOLERANCE).all())


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
        said = set(texts(np.unique(array)).tolist())
        if not said <= set(by_name) and said <= set(by_place):
            return Key("labels", classes, by_place, (), "k is the k-th class")
        return Key("labels", classes, by_name, (), "by name")
    # Numbers are places, unless the classes themselves are numbers of another run (1 to 26)
    # and every answer is one of them.
    numbered = all(name.isdecimal() for name in classes) and by_name != by_place
    if numbered and np.isin(texts(np.unique(array)), classes).all():
        return Key("labels", classes, by_name, (), "by name: the classes are numbers")
    return Key("labels", classes, by_place, (), "k is the k-th class")


def _labels(array: NDArray[Any], key: Key) -> Whole:
    unique, inverse = np.unique(array, return_inverse=True)
    places = np.empty(len(unique), dtype=np.intp)
    for at, name in enumerate(texts(unique)):
        place = key.names.get(str(name))
        if place is None:
            many = int((inverse == at).sum())
            raise stranger(str(name), f"the answer to {many} of {len(array)} glyphs", key.classes)
        places[at] = place
    return places[inverse.reshape(-1)]


def _changed(key: Key, got: str) -> ModelError:
    width = f", {len(key.columns)} columns" if key.columns else ""
    return ModelError(
        "",
        "the answers are of another kind than in the first batch",
        got=got,
        allowed=f"{key.kind}{width}",
    )
