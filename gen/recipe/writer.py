"""A recipe's plain values as TOML, for what comes of a recipe that extends another.

Numbers, lists and ranges are written as they were; keys stand in one order, and
comments are lost. Reading it again gives the same recipe.

References
----------
TOML 1.0.0, https://toml.io/en/v1.0.0
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from decimal import Decimal

_TOP = ("title", "note", "seed", "scan_dpi", "glyph_height_px")
_FIRST = ("perturbation", "title", "nominal", "blend")
_LAST = ("levels", "note")
_WIDTH = 100


def recipe_text(data: Mapping[str, object]) -> str:
    """The text of a recipe that the reader has found nothing wrong with.

    Parameters
    ----------
    data
        What it says: text, truth values, whole numbers, `Decimal`, lists and tables.

    Examples
    --------
    >>> print(recipe_text({"title": "Focus", "sweep": [
    ...     {"levels": {"from": 0, "to": Decimal("0.5"), "count": 3},
    ...      "perturbation": "blur", "unit": "px"}]}), end="")
    title = "Focus"
    <BLANKLINE>
    [[sweep]]
    perturbation = "blur"
    unit = "px"
    levels = {from = 0, to = 0.5, count = 3}
    """
    lines = [_pair(key, data[key]) for key in _TOP if key in data]
    for sweep in _tables(data, "sweep"):
        lines += _table("[[sweep]]", sweep)
    for grid in _tables(data, "grid"):
        lines += _table("[[grid]]", {key: grid[key] for key in grid if key == "note"})
        for side in ("down", "across"):
            lines += _table(f"[grid.{side}]", _as_table(grid[side]))
    for blend in _tables(data, "blend"):
        lines += _table("[[blend]]", {key: blend[key] for key in blend if key != "part"})
        for part in _tables(blend, "part"):
            lines += _table("[[blend.part]]", part)
    for requirement in _tables(data, "require"):
        lines += _table("[[require]]", requirement)
    return "\n".join(lines) + "\n"


def _tables(data: Mapping[str, object], key: str) -> list[Mapping[str, object]]:
    value = data.get(key, [])
    assert isinstance(value, list)
    return [_as_table(each) for each in value]


def _as_table(value: object) -> Mapping[str, object]:
    assert isinstance(value, Mapping)
    return value


def _table(header: str, table: Mapping[str, object]) -> list[str]:
    """A table under its header, after an empty line."""
    middle = sorted(key for key in table if key not in _FIRST and key not in _LAST)
    keys = [*(key for key in _FIRST if key in table), *middle]
    keys += [key for key in _LAST if key in table]
    return ["", header, *(_pair(key, table[key]) for key in keys)]


def _pair(key: str, value: object) -> str:
    line = f"{key} = {_said(value)}"
    if len(line) <= _WIDTH or not isinstance(value, list):
        return line
    rows, row = [], ""
    for item in map(_said, value):
        if row and len(row) + len(item) + len("    , ,") > _WIDTH:
            rows.append(row)
            row = ""
        row += f", {item}" if row else item
    return "\n".join([f"{key} = [", *(f"    {each}," for each in (*rows, row)), "]"])


def _said(value: object) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            # JSON's escapes are TOML's; TOML wants one for DEL too.
            return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
        case int() | Decimal():
            return str(value)
        case Mapping():
            return "{" + ", ".join(f"{key} = {_said(each)}" for key, each in value.items()) + "}"
        case Sequence():
            return "[" + ", ".join(map(_said, value)) + "]"
    raise TypeError(type(value).__name__)
