"""Names of classes, and the numbers that stand for them."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.base import Whole

_RANGES = re.compile(r"(?:.-.)+", re.DOTALL)
_PIECE = re.compile(r"(.)-(.)|(.)", re.DOTALL)


def parse_classes(text: str) -> tuple[str, ...]:
    """Class names from a short text: ranges, single characters or a comma list.

    Parameters
    ----------
    text
        "0-9", "A-Z", "0-9A-F"; "0123456789", where each character is a class;
        or names with commas between them, "pear, plum", which may hold ranges.

    Returns
    -------
    tuple of str, in the order of the text.

    Raises
    ------
    GlyphError
        If a range runs backwards or across kinds, a name is empty or comes twice.

    Examples
    --------
    >>> parse_classes("0-3A-C")
    ('0', '1', '2', '3', 'A', 'B', 'C')
    >>> parse_classes("pear, plum, 0-2")
    ('pear', 'plum', '0', '1', '2')
    """
    names: list[str] = []
    if "," in text:
        for part in (part.strip() for part in text.split(",")):
            names += _characters(text, part) if _RANGES.fullmatch(part) else [part]
    else:
        names = _characters(text, text.strip())
    return checked_names("classes", names)


def checked_names(where: str, names: list[str] | tuple[str, ...]) -> tuple[str, ...]:
    """The same names, once each is known to be there, not empty and not twice."""
    if not names or "" in names:
        raise GlyphError(where, "a class has no name", got=repr(",".join(names)))
    try:
        "".join(names).encode("utf-8")
    except UnicodeEncodeError as cause:
        raise GlyphError(
            where, "a class name is no text: its bytes aren't UTF-8", got=ascii(cause.object)
        ) from cause
    if len(set(names)) < len(names):
        twice = next(name for place, name in enumerate(names) if name in names[:place])
        raise GlyphError(
            where,
            "a class name comes twice",
            got=repr(twice),
            hint="put commas between names of more than one character",
        )
    return tuple(names)


def natural_key(name: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key that puts 10 after 2: runs of digits compare as numbers.

    Examples
    --------
    >>> sorted(["10", "2", "1", "row 11", "row 9"], key=natural_key)
    ['1', '2', '10', 'row 9', 'row 11']
    """
    parts: list[tuple[int, int, str]] = []
    for digits, other in re.findall(r"([0-9]+)|([^0-9]+)", name):
        if digits:
            # Length, then text, orders whole numbers of any size.
            value = digits.lstrip("0")
            parts.append((0, len(value), value))
        else:
            parts.append((1, 0, other.casefold()))
    parts.append((-1, 0, name))  # the name itself settles what is left, such as 01 and 1
    return tuple(parts)


def understood_labels(
    where: str, values: NDArray[Any], own: tuple[str, ...] | None
) -> tuple[Whole, tuple[str, ...], bool]:
    """Labels as indices into class names.

    Parameters
    ----------
    where
        The source, for errors.
    values
        ndarray of shape (N,) or (N, 1): whole numbers 0..255, or names.
    own
        Class names that came with the source, if any.

    Returns
    -------
    tuple
        Indices, ndarray of shape (N,), intp; class names; and whether a label is
        its own number, so that names count from 0 whether or not 0 is used.

    Raises
    ------
    GlyphError
        If the labels are something else, or stand for no class.
    """
    if values.ndim == 2 and values.shape[1] == 1:
        values = values[:, 0]
    if values.ndim != 1:
        raise GlyphError(
            where,
            "labels must be one number or name a picture",
            got=f"shape {values.shape}",
            allowed="(N,)",
            hint="take the index of the 1 in each row, if each row is all 0 but one"
            if values.ndim == 2
            else None,
        )
    if len(values) == 0:
        raise GlyphError(where, "there are no labels in it")
    if values.dtype.kind in "US":
        return _from_names(where, values, own)
    if values.dtype.kind not in "buif":
        raise GlyphError(where, "labels are neither numbers nor names", got=f"dtype {values.dtype}")
    limit = 255 if own is None else len(own) - 1
    good = (values >= 0) & (values <= limit) & (values == np.floor(values))
    if not good.all():
        first = int(np.flatnonzero(~good)[0])
        raise GlyphError(
            where,
            f"the label of picture {first} stands for no class",
            got=values[first],
            allowed=f"whole numbers 0 to {limit}",
        )
    labels = values.astype(np.intp)
    if own is not None:
        return labels, own, False
    return labels, tuple(str(number) for number in range(int(labels.max()) + 1)), True


def renamed(
    where: str, labels: Whole, old: tuple[str, ...], new: tuple[str, ...], *, numbered: bool
) -> tuple[Whole, tuple[str, ...], tuple[str, ...]]:
    """Labels and names once a person has given names in place of the ones found, in order.

    The same names in another order are that: each class keeps its pictures. Labels that
    are numbers have no names yet, and are called what is given.

    Returns
    -------
    tuple
        Indices into the names, ndarray of shape (N,), intp; the names; and notes.

    Raises
    ------
    GlyphError
        If there are too few names, or, for classes that have names of their own,
        another number of them; or if a name is that of another class found.

    Examples
    --------
    >>> found = np.array([0, 1, 1])
    >>> renamed("tags", found, ("pear", "plum"), ("plum", "pear"), numbered=False)[:2]
    (array([1, 0, 0]), ('plum', 'pear'))
    >>> renamed("tags", found, ("0", "1"), ("pear", "plum"), numbered=True)
    (array([0, 1, 1]), ('pear', 'plum'), ())
    """
    if len(new) == len(old) or (numbered and len(new) > len(old)):
        moved = [place for place, name in enumerate(old) if name in new and new[place] != name]
        if numbered or not moved:
            return labels, new, _told_anew(old, new, moved, numbered=numbered)
        if set(old) == set(new):
            place = np.array([new.index(name) for name in old], np.intp)
            return place[labels], new, ("classes put in the order given, each with its pictures",)
        raise GlyphError(
            where,
            f"{old[moved[0]]!r} would become the name of another class than it is found for",
            got=f"{listed(new)}, in place of {listed(old)}",
            hint="the names found, in the order wanted, or all of them new",
        )
    hint = None
    if numbered and len(new) == len(old) - 1 and int(labels.min()) == 1:
        hint = "these labels start at 1: put a name for 0 first, such as none," + ",".join(new[:2])
    raise GlyphError(
        where,
        "the class names given don't fit the classes found",
        got=f"{len(new)} names: {listed(new)}",
        allowed=f"labels up to {len(old) - 1}, so at least {len(old)} names"
        if numbered
        else f"{len(old)} names, in place of {listed(old)}",
        hint=hint,
    )


def _told_anew(
    old: tuple[str, ...], new: tuple[str, ...], moved: list[int], *, numbered: bool
) -> tuple[str, ...]:
    """A line where names take the place of names, or a number is called by another number."""
    if numbered:
        return (f"label {old[moved[0]]} is called {new[moved[0]]}, as told",) if moved else ()
    return () if new == old else (f"classes {listed(old)} named anew, in order",)


def _from_names(
    where: str, values: NDArray[Any], own: tuple[str, ...] | None
) -> tuple[Whole, tuple[str, ...], bool]:
    names = decoded(where, values)
    unique, inverse = np.unique(np.array(names), return_inverse=True)
    classes = own or checked_names(where, sorted((str(n) for n in unique), key=natural_key))
    unknown = [str(name) for name in unique if str(name) not in classes]
    if unknown:
        raise GlyphError(
            where, "a label stands for no class", got=repr(unknown[0]), allowed=listed(classes)
        )
    place = np.array([classes.index(str(name)) for name in unique], dtype=np.intp)
    return place[inverse.reshape(-1)], classes, False


def decoded(where: str, values: NDArray[Any]) -> list[str]:
    """Text of an array of names, which may be stored as bytes in UTF-8."""
    try:
        return [v.decode("utf-8") if isinstance(v, bytes) else str(v) for v in values.tolist()]
    except UnicodeDecodeError as cause:
        raise GlyphError(where, "class names aren't UTF-8", got=cause) from cause
    except (SystemError, ValueError) as cause:  # numbers that are no characters
        raise GlyphError(where, "class names aren't text", got=cause) from cause


def _characters(text: str, part: str) -> list[str]:
    names: list[str] = []
    for first, last, single in _PIECE.findall(part):
        if single:
            names.append(single)
            continue
        kinds = ("0123456789", "ABCDEFGHIJKLMNOPQRSTUVWXYZ", "abcdefghijklmnopqrstuvwxyz")
        kind = next((kind for kind in kinds if first in kind and last in kind), None)
        if kind is None or first > last:
            raise GlyphError(
                "classes",
                f'"{first}-{last}" is not a range',
                got=repr(text),
                allowed="0-9, A-Z, a-z or a part of one of these",
                hint="put commas between the names",
            )
        names += list(kind[kind.index(first) : kind.index(last) + 1])
    return names


def listed(names: tuple[str, ...]) -> str:
    """Names with commas between them, the first dozen of many."""
    return ", ".join(names) if len(names) <= 12 else ", ".join(names[:12]) + " ..."
