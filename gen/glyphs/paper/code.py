"""The line that says which sheet a page is of: printed as text and as a square code.

A photograph alone is enough to read a page: the code holds paper, order, count, page and
classes, with a checksum of its own beside that of the code (ISO/IEC 18004, level L).
"""

from __future__ import annotations

import re
import zlib
from itertools import groupby

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.classes import parse_classes
from gen.glyphs.paper.layout import PAPERS, Plan

VERSION = 1
"""Raised when a page with the same line would be laid out in another way."""
START = "inkdrift-sheet/"
MOST_BYTES = 106
"""What a code of 37 modules holds at level L; its modules are 0.49 mm."""

_LINE = re.compile(r"(\d+);(\w+);([a-z]+);(\d{1,4});(\d{1,2})/(\d{1,2});(.+);([0-9A-F]{4})")
_KINDS = ("0123456789", "ABCDEFGHIJKLMNOPQRSTUVWXYZ", "abcdefghijklmnopqrstuvwxyz")


def code_text(plan: Plan, page: int) -> str:
    """The line of one page.

    Raises
    ------
    GlyphError
        If the class names can't be put into it.

    Examples
    --------
    >>> code_text(Plan(tuple("0123456789"), 10), 1)
    'inkdrift-sheet/1;A4;turns;10;1/1;0-9;F24C'
    """
    names = short_classes(plan.classes)
    body = f"{VERSION};{plan.paper};{plan.order};{plan.per_class};{page}/{plan.pages};{names}"
    text = f"{START}{body};{_check(body)}"
    if len(text.encode("utf-8")) > MOST_BYTES:
        raise GlyphError(
            "classes",
            "the class names are too long to be told by the code on the sheet",
            got=f"{len(text.encode('utf-8'))} bytes with the rest of the line",
            allowed=f"up to {MOST_BYTES} bytes",
            hint="shorter names, or a sheet for each part of the classes",
        )
    return text


def read_code(where: str, text: str) -> tuple[Plan, int]:
    """The sheet and the page that a line tells of.

    Raises
    ------
    GlyphError
        If it is another line, of another version, or its checksum is wrong.

    Examples
    --------
    >>> plan, page = read_code("photo", "inkdrift-sheet/1;A4;turns;10;1/1;0-9;F24C")
    >>> plan.per_class, page
    (10, 1)
    """
    text = text.strip()
    if not text.startswith(START):
        raise GlyphError(
            where,
            "the code is of no sheet of this kind",
            got=repr(text[:60]),
            allowed=f"{START}...",
        )
    body = text.removeprefix(START)
    version = body.split(";")[0]
    if version != str(VERSION):
        raise GlyphError(
            where,
            "the sheet is of another version",
            got=f"version {version[:12]}",
            allowed=f"version {VERSION}",
            hint="collect it with the release that made it, or write on a new sheet",
        )
    found = _LINE.fullmatch(body)
    if found is None or _check(body.rpartition(";")[0]) != found[8]:
        raise GlyphError(
            where,
            "the line of the sheet is misread or mistyped: its last four characters don't agree",
            got=repr(text[:MOST_BYTES]),
            hint="type it as it is printed at the foot of the page",
        )
    _, paper, order, per_class, page, pages, names, _ = found.groups()
    if paper not in PAPERS:
        raise GlyphError(where, "unknown paper", got=paper, allowed=", ".join(PAPERS))
    plan = Plan(parse_classes(names), int(per_class), paper, order)
    if int(pages) != plan.pages or not 1 <= int(page) <= plan.pages:
        raise GlyphError(
            where,
            "the pages of the sheet don't agree with its boxes",
            got=f"page {page} of {pages}",
            allowed=f"1 to {plan.pages} of {plan.pages}",
        )
    return plan, int(page)


def short_classes(classes: tuple[str, ...]) -> str:
    """Class names as the shortest text that says them.

    Examples
    --------
    >>> short_classes(tuple("0123456789ABCXZ"))
    '0-9A-CXZ'
    >>> short_classes(("pear", "plum"))
    'pear,plum'
    """
    text = ",".join(classes)
    if all(len(name) == 1 for name in classes):
        text = "".join(_runs("".join(classes)))
    for candidate in (text, ",".join(classes)):
        try:
            if parse_classes(candidate) == classes and candidate.isprintable():
                return candidate
        except GlyphError:
            continue
    raise GlyphError(
        "classes",
        "these class names can't be told by the code on a sheet",
        got=repr(",".join(classes))[:80],
        hint="single characters, or at least two names without commas and blanks at their ends",
    )


def code_modules(text: str) -> Pixels:
    """The square code of a line.

    Returns
    -------
    ndarray of shape (n, n), uint8: 1 where a module is dark; without a quiet zone.
    """
    import cv2

    picture = cv2.QRCodeEncoder.create().encode(text)
    dark = np.asarray(picture) == 0
    rows, columns = np.flatnonzero(dark.any(1)), np.flatnonzero(dark.any(0))
    inner = dark[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    modules: Pixels = inner.astype(np.uint8)
    return modules


def _runs(text: str) -> list[str]:
    """Runs of three and more neighbours as ranges."""

    def kind(letter: str) -> int:
        return next((n for n, letters in enumerate(_KINDS) if letter in letters), -1)

    parts = []
    for _, run in groupby(enumerate(text), lambda at: (kind(at[1]), ord(at[1]) - at[0])):
        letters = "".join(letter for _, letter in run)
        plain = len(letters) < 3 or kind(letters[0]) < 0
        parts.append(letters if plain else f"{letters[0]}-{letters[-1]}")
    return parts


def _check(body: str) -> str:
    return f"{zlib.crc32(body.encode('utf-8')) & 0xFFFF:04X}"
