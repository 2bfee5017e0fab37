"""Labels of pictures: given, found in the source, or in a file beside it."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gen.core.errors import GlyphError
from gen.glyphs.archive import NPY_MAGIC, ZIP_MAGICS, read_npy, read_npz_labels
from gen.glyphs.base import Whole
from gen.glyphs.classes import decoded, natural_key
from gen.glyphs.found import Found
from gen.glyphs.idx import label_names, labels_beside, looks_like_idx, named_idx, read_idx_noted
from gen.glyphs.lines import numbered_lines
from gen.glyphs.stream import first_bytes
from gen.glyphs.table import label_array
from gen.glyphs.table_form import LABEL_NAMES

PathLike = str | os.PathLike[str]
_HEAD = 1 << 12
# A number and something after it in every line: which picture, and its label.
_TWO_FIELDS = re.compile(r"\d+(\s*;\s*|\s+)\S")


def labels_of(
    name: str, found: Found, given: PathLike | ArrayLike | None, source: PathLike | NDArray[Any]
) -> tuple[NDArray[Any], tuple[str, ...]]:
    """The labels of what was found, and a note on where they came from.

    Parameters
    ----------
    name
        The source, for errors.
    found
        What was read of it.
    given
        Labels, or the file that has them; None to take those of the source.
    source
        The source itself.

    Raises
    ------
    GlyphError
        If there are none, or twice.
    """
    if given is not None and found.kind == "folder":
        raise GlyphError(
            name, "a folder has its labels already, from its class folders", got="labels as well"
        )
    if isinstance(given, (str, os.PathLike)):
        values, more = read_labels(Path(given))
        return values, (f"labels read from {os.fspath(given)}{more}",)
    if given is not None:
        try:
            return np.asarray(given), ()
        except ValueError as cause:  # lists of unequal length
            raise GlyphError(name, "labels must be one number or name a picture") from cause
    if found.labels is not None:
        return found.labels, ()
    looked = None
    if found.kind == "IDX" and not isinstance(source, np.ndarray):
        beside = labels_beside(Path(source))
        if beside is not None:
            values, more = read_labels(beside)
            return values, (f"labels found beside it: {beside.name}{more}",)
        looked = ", ".join(path.name for path in label_names(Path(source)))
    raise GlyphError(
        name,
        "the pictures have no labels",
        got=f"nothing beside it named {looked}" if looked else None,
        hint="give the file that has them (--labels FILE, or labels= in Python)",
    )


def read_labels(path: Path) -> tuple[NDArray[Any], str]:
    """Labels from a file, told by content: IDX, npy, npz, or text with one a line.

    Returns
    -------
    tuple
        ndarray of shape (N,), numbers or names; and what is to be added to a note.
    """
    head = first_bytes(path, _HEAD)
    if head.startswith(ZIP_MAGICS):
        return read_npz_labels(path), ""
    values: NDArray[Any]
    more = ""
    if head.startswith(NPY_MAGIC):
        values = read_npy(path)
    elif looks_like_idx(head) or named_idx(path):
        values, notes = read_idx_noted(path)
        more = "".join(f" ({note})" for note in notes)
    elif _is_text(head):
        return _one_a_line(path)
    else:
        raise GlyphError(
            str(path),
            "not a file of labels that is known",
            got=f"a file that begins {head[:4].hex(' ')}" if head else "an empty file",
            allowed="IDX (plain or gzipped), npy, npz, or text with one label a line",
        )
    if values.ndim > 2:
        raise GlyphError(
            str(path),
            "these are pictures, not labels",
            got=f"shape {values.shape}",
            allowed="one number a picture",
        )
    return values, more


def _is_text(head: bytes) -> bool:
    head = head.removeprefix(b"\xef\xbb\xbf")
    return bool(head.strip()) and not any(byte < 32 and byte not in b"\t\r\n" for byte in head)


def _one_a_line(path: Path) -> tuple[NDArray[Any], str]:
    lines = [line for piece in numbered_lines(path) for line in piece]
    labels = [_unquoted(text.strip()) for _, text in lines]
    counted = len(labels) > 1 and all(_TWO_FIELDS.match(label) for label in labels)
    for (number, _), label in zip(lines, labels, strict=True):
        if counted or "," in label or "\t" in label:
            raise GlyphError(
                f"{path}:{number}",
                "labels must be one a line",
                got=repr(label[:40]),
                hint="leave one column, in the order of the pictures",
            )
    more = ""
    if len(labels) > 1 and labels[0].lower() in LABEL_NAMES and labels[0] not in labels[1:]:
        labels, more = labels[1:], f", without its header {labels[0]!r}"
    return label_array(labels), more


def _unquoted(text: str) -> str:
    """A field of CSV without its quotes (RFC 4180)."""
    if len(text) > 1 and text[0] == text[-1] == '"':
        return text[1:-1].replace('""', '"')
    return text


def counts_differ(name: str, images: int, labels: int, what: str = "labels") -> GlyphError:
    """The error for labels, or writers, that aren't one a picture."""
    hint = "do both come from the same set?"
    if labels - images in (8, 16):
        hint = f"{labels - images} more is one header: was it stored with the {what}?"
    return GlyphError(
        name,
        f"there are not as many {what} as pictures",
        got=f"{images:,} pictures, {labels:,} {what}",
        hint=hint,
    )


def understood_writers(where: str, values: NDArray[Any], count: int) -> tuple[Whole, str]:
    """Who wrote each, as numbers, and a line that counts them.

    Parameters
    ----------
    where
        The source, for errors.
    values
        ndarray of shape (N,): names, or whole numbers, which are kept.
    count
        Of pictures.

    Raises
    ------
    GlyphError
        If they aren't one a picture, or neither names nor whole numbers.

    Examples
    --------
    >>> who, note = understood_writers("tags", np.array(["Ada", "Bo", "Ada"]), 3)
    >>> who.tolist(), note
    ([0, 1, 0], 'written by 2 people, as the source says')
    """
    if values.ndim == 2 and values.shape[1] == 1:
        values = values[:, 0]
    if values.ndim != 1:
        raise GlyphError(
            where, "writers must be one name or number a picture", got=f"shape {values.shape}"
        )
    if len(values) != count:
        raise counts_differ(where, count, len(values), "writers")
    if values.dtype.kind in "US":
        names = np.array(decoded(where, values))
        if "" in names:
            first = int(np.flatnonzero(names == "")[0])
            raise GlyphError(
                where,
                f"who wrote picture {first} has no name",
                hint="a name for each of those too, or the set without its writers",
            )
        unique, place = np.unique(names, return_inverse=True)
        order = sorted(range(len(unique)), key=lambda one: natural_key(str(unique[one])))
        number = np.empty(len(unique), np.intp)
        number[order] = np.arange(len(unique))
        who = number[place.reshape(-1)]
    else:
        whole = values.dtype.kind in "ui" or (
            values.dtype.kind == "f" and bool((values == np.rint(values)).all())
        )
        if not whole or abs(values.astype(np.float64)).max() >= 2.0**53:
            raise GlyphError(
                where, "writers are neither names nor whole numbers", got=f"dtype {values.dtype}"
            )
        who = values.astype(np.intp)
    people = len(np.unique(who))
    said = f"{people:,} people" if people != 1 else "one person"
    return who, f"written by {said}, as the source says"
