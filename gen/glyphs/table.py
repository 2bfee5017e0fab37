"""Tables of pictures: text with one picture a row, a number a pixel."""

from __future__ import annotations

from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.found import Found
from gen.glyphs.lines import Numbered, numbered_lines
from gen.glyphs.pile import Pile
from gen.glyphs.stream import MOST_BYTES
from gen.glyphs.table_form import Form, cannot_tell, form_of, separator_of

NAMES = (".csv", ".tsv", ".txt", ".tab")
_PEEK = 1 << 16


def looks_like_table(path: Path, head: bytes) -> bool:
    """Whether a file is a table by its name, or by the look of its first line.

    Parameters
    ----------
    path
        The file.
    head
        Its first bytes, unpacked.

    Examples
    --------
    >>> looks_like_table(Path("tags"), b"7,0,0,255,0"), looks_like_table(Path("tags"), b"<svg>")
    (True, False)
    """
    if path.name.lower().removesuffix(".gz").endswith(NAMES):
        return True
    line = head.removeprefix(b"\xef\xbb\xbf").lstrip().split(b"\n")[0]
    if not line or line[:1] in b"<{[" or any(byte < 32 and byte not in b"\t\r" for byte in line):
        return False
    try:
        text = line.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return separator_of(text) is not None


def read_table(
    path: Path, *, frame: tuple[int, int] | None = None, label: str | None = None
) -> Found:
    """Read a table with one picture a row, plain or gzipped.

    Fields are parted by commas, semicolons, tabs or spaces; a header is passed over; a
    column of labels, numbers or names, may come first or last. What was found is noted.
    The text is read 4 MiB at a time, a row is held as bytes where it is bytes and as
    float32 else, and from 64 MiB on the rows lie on disk.

    Parameters
    ----------
    path
        The file.
    frame
        (H, W) of the pictures; square when left out.
    label
        "first" or "last"; found out when left out.

    Returns
    -------
    Found
        images, ndarray of shape (N, H*W), uint8 or float32.

    Raises
    ------
    GlyphError
        With the number of the line, if a row is too short or long or holds no numbers; if
        the columns make no picture, or where the label is can't be told.
    """
    where = str(path)
    pieces = numbered_lines(path)
    first = next(pieces, None)
    if first is None:
        raise GlyphError(where, "the file is empty", allowed="one picture a row")
    form = form_of(where, first, frame, label)
    pile = Pile(form.columns - (form.label is not None))
    labels: list[str] = []
    for lines in chain([first[form.header :]], pieces):
        cut, values = _cut(where, form, lines)
        labels += cut
        pile.add(values)
        _hold_still(where, form, lines, values)
        if pile.nbytes > MOST_BYTES:
            raise GlyphError(
                where,
                "the table holds more than can be a set of glyphs",
                allowed=f"up to {MOST_BYTES:,} bytes",
            )
    told = None if form.label is None else label_array(labels)
    return Found("table", pile.whole(), told, notes=form.notes)


def label_array(labels: list[str]) -> NDArray[Any]:
    """Labels as whole numbers when all of them are, and as names otherwise.

    Examples
    --------
    >>> label_array(["7", "1.0"]).tolist(), label_array(["7", "pear"]).tolist()
    ([7, 1], ['7', 'pear'])

    Where 1 and 01 both come, they are two names and not one number:

    >>> label_array(["1", "01"]).tolist()
    ['1', '01']
    """
    try:
        numbers = np.array(labels, dtype=np.float64)
    except ValueError:
        return np.array(labels)
    if _padded_and_not(set(labels)):
        return np.array(labels)
    whole = np.isfinite(numbers).all() and (numbers == np.rint(numbers)).all()
    return numbers.astype(np.int64) if whole and np.abs(numbers).max() < 2**53 else np.array(labels)


def _padded_and_not(labels: set[str]) -> bool:
    """Whether a whole number comes with zeros before it and without, as 01 and 1."""
    bare = [label.lstrip("0") or "0" for label in labels if label.isdigit()]
    return len(set(bare)) < len(bare)


def _hold_still(where: str, form: Form, lines: list[Numbered], values: NDArray[Any]) -> None:
    """Refuse a table whose other end varies after all, so that it could be the label."""
    if form.still is None:
        return
    other = values[:, -1 if form.label == "first" else 0]
    moved = np.flatnonzero(other != form.number(form.still))
    if len(moved):
        here = f"{where}:{lines[moved[0]][0]}"
        raise cannot_tell(here, form.columns, "both varied, one of them only from here on")


def _cut(where: str, form: Form, lines: list[Numbered]) -> tuple[list[str], NDArray[Any]]:
    """The labels of some lines, and their numbers."""
    labels: list[str] = []
    texts = [line for _, line in lines]
    if form.label is not None:
        at = 0 if form.label == "first" else -1
        parted = [_parted(form, line, at) for line in texts]
        labels, texts = [one for one, _ in parted], [rest for _, rest in parted]
    if form.decimal_comma:
        texts = [text.replace(",", ".") for text in texts]
    return labels, _numbers(where, form, lines, texts)


def _parted(form: Form, line: str, at: int) -> tuple[str, str]:
    """The label of a line, and what is left of it."""
    if '"' in line:
        fields = form.fields(line)
        label = fields.pop(at)
        return label, form.separator.join(fields)
    if form.separator == " ":
        line = line.strip()
    cut = line.partition(form.separator) if at == 0 else line.rpartition(form.separator)
    return (cut[0].strip(), cut[2]) if at == 0 else (cut[2].strip(), cut[0])


def _numbers(
    where: str, form: Form, lines: list[Numbered], texts: list[str]
) -> NDArray[np.uint8] | NDArray[np.float64]:
    length = form.columns - (form.label is not None)
    parted = None if form.separator == " " else form.separator
    for kind in (np.uint8, np.float64):
        try:
            values = np.loadtxt(
                texts, kind, comments=None, delimiter=parted, quotechar='"', ndmin=2
            )
        except ValueError:
            continue
        if values.shape == (len(texts), length):
            return np.asarray(values)
        break
    raise _fault(where, form, lines)


def _fault(where: str, form: Form, lines: list[Numbered]) -> GlyphError:
    """The error for the first line that isn't a row."""
    for number, line in lines:
        fields = form.fields(line)
        if len(fields) != form.columns:
            return GlyphError(
                f"{where}:{number}",
                "the row isn't as long as the first one",
                got=f"{len(fields)} columns",
                allowed=f"{form.columns} columns",
            )
        for place, field in enumerate(fields):
            is_label = place == {"first": 0, "last": form.columns - 1}.get(form.label or "", -1)
            if not is_label and not form.is_number(field):
                return GlyphError(
                    f"{where}:{number}",
                    f"column {place + 1} holds no number",
                    got=repr(field[:40]),
                    allowed="one number a pixel",
                )
    return GlyphError(f"{where}:{lines[0][0]}", "these rows can't be read as numbers")
