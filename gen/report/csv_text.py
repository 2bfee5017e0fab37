"""Tables as text for spreadsheets and other programs."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from gen.recipe.model import Level
from gen.report.json_values import rounded

# What makes a spreadsheet take a cell for a formula.
_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def csv_text(heads: Sequence[str], rows: Iterable[Sequence[Level | None]]) -> str:
    """Rows after RFC 4180: CRLF line ends, quotes doubled, a header row.

    Parameters
    ----------
    heads
        Names of the columns.
    rows
        Of cells; None is an empty one. Text that a spreadsheet would take for a formula
        gets an apostrophe in front; amounts stay numbers, of six figures.

    Examples
    --------
    >>> csv_text(("level", "answered"), [(-2.0, "=A1"), (None, "7")])
    "level,answered\\r\\n-2,'=A1\\r\\n,7\\r\\n"
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(heads)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _cell(value: Level | None) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value.startswith(_STARTS_A_FORMULA) else value
    if isinstance(value, int):
        return str(value)
    return f"{rounded(value):.6g}"
