"""The table in which loose marks are named: written with empty classes, read when filled in."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from gen.core.errors import GlyphError

COLUMNS = (
    "number",
    "class",
    "photo",
    "line",
    "place",
    "left_px",
    "top_px",
    "width_px",
    "height_px",
)
_HELD = ("photo", "left_px", "top_px", "width_px", "height_px")
_MOST_BYTES = 4 << 20

Row = dict[str, str]


def table_text(rows: Sequence[Row]) -> str:
    """The table as CSV (RFC 4180), lines ended as on Unix."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def read_classes(path: Path, rows: Sequence[Row]) -> list[str | None]:
    """The class of each mark, None where it was left empty.

    Commas, semicolons and tabs between columns are understood, since spreadsheets write
    all three; columns that were added, and rows in another order, are fine.

    Parameters
    ----------
    path
        The table as somebody filled it in.
    rows
        The table as it would be written for the same photographs.

    Raises
    ------
    GlyphError
        If it can't be read, lacks a column or a mark, names one twice, or is of other
        photographs or another cut.
    """
    where = str(path)
    header, lines = _read(path)
    wanted = {row["number"]: row for row in rows}
    found: dict[str, str] = {}
    for number, line in lines:
        cells = dict(zip(header, (cell.strip() for cell in line), strict=False))
        key = cells.get("number", "")
        here = f"{where}:{number}"
        if key not in wanted:
            raise GlyphError(
                here,
                "there is no mark of this number",
                got=repr(key),
                allowed=f"1 to {len(rows)}",
                hint="the table that gen collect --loose wrote for these photographs",
            )
        if key in found:
            raise GlyphError(here, f"mark {key} comes twice")
        for column in _HELD:
            if cells.get(column, "") != wanted[key][column].strip():
                raise GlyphError(
                    here,
                    "the table is of another photograph, or of another cut of it",
                    got=f"{column} {cells.get(column, '')!r} for mark {key}",
                    allowed=repr(wanted[key][column]),
                    hint="gen collect --loose once more, with the photographs in the same order",
                )
        found[key] = cells.get("class", "")
    missing = [key for key in wanted if key not in found]
    if missing:
        raise GlyphError(
            where,
            "marks are missing from the table",
            got=f"{len(missing)}, first number {missing[0]}",
            hint="to leave a mark out, leave its class empty",
        )
    return [found[key] or None for key in wanted]


def is_filled_in(path: Path) -> bool:
    """Whether there is a table in which somebody has named a mark, or which can't be told.

    Examples
    --------
    >>> is_filled_in(Path("nowhere.csv"))
    False
    """
    if not path.exists():
        return False
    try:
        header, rows = _read(path)
    except GlyphError:
        return True
    at = header.index("class")
    return any(len(line) > at and line[at].strip() for _, line in rows)


def _read(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """The names of the columns, and the rows with their lines."""
    where = str(path)
    try:
        if path.exists() and not path.is_file():  # a pipe would be waited for without end
            raise GlyphError(where, "this is a folder" if path.is_dir() else "not a file")
        with path.open("rb") as stream:
            raw = stream.read(_MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else error
        raise GlyphError(where, "can't be read", got=why) from error
    if len(raw) > _MOST_BYTES:
        raise GlyphError(
            where, "too large for a table of marks", allowed=f"up to {_MOST_BYTES:,} bytes"
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise GlyphError(
            where, "the table isn't UTF-8", got=error.reason, hint='save it as "CSV UTF-8"'
        ) from error
    first = text.split("\n", 1)[0]
    between = max(",;\t", key=first.count)
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), delimiter=between, strict=True))
    except csv.Error as error:
        raise GlyphError(where, "the table is broken", got=error) from error
    header = [cell.strip().lower() for cell in lines[0]] if lines else []
    twice = next((column for column in ("class", *COLUMNS) if header.count(column) > 1), None)
    if twice is not None:
        raise GlyphError(
            where,
            f'the table has the column "{twice}" twice',
            got=", ".join(header)[:200],
            hint="leave one of them",
        )
    missing = [column for column in ("number", "class", *_HELD) if column not in header]
    if missing:
        raise GlyphError(
            where,
            f'the table has no column "{missing[0]}"',
            got=", ".join(header)[:200] or "an empty file",
            allowed=", ".join(COLUMNS),
        )
    rows = [(at, line) for at, line in enumerate(lines[1:], start=2) if any(map(str.strip, line))]
    return header, rows
