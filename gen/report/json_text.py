"""JSON as a person reads it: two spaces in, and on one line whatever fits on one."""

from __future__ import annotations

import json
from typing import Any

WIDTH = 96


def json_text(value: Any) -> str:
    """JSON text of plain values: a list or an object that fits on a line stands on one.

    A confusion of 36 classes at a hundred levels would be a million lines with
    one figure each; so it is a line a pair.

    Parameters
    ----------
    value
        What JSON knows; figures must be finite.

    Raises
    ------
    ValueError
        If a figure is not finite.

    Examples
    --------
    >>> print(json_text({"n": 3, "pairs": [[0, 1, 2]]}))
    {"n": 3, "pairs": [[0, 1, 2]]}
    """
    return _text(value, 0)


def _text(value: Any, indent: int) -> str:
    if not isinstance(value, (dict, list)) or not value:
        return json.dumps(value, ensure_ascii=False, allow_nan=False)
    inside = value.values() if isinstance(value, dict) else value
    if not any(isinstance(item, (dict, list)) for item in inside):
        # The most of a report are short rows of figures: written whole, which is faster.
        whole = json.dumps(value, ensure_ascii=False, allow_nan=False)
        if len(whole) <= WIDTH - indent:
            return whole
    inner = " " * (indent + 2)
    if isinstance(value, dict):
        keys = [f"{json.dumps(key, ensure_ascii=False)}: " for key in value]
        parts = [
            key + _text(item, indent + 2) for key, item in zip(keys, value.values(), strict=True)
        ]
        left, right = "{}"
    else:
        parts = [_text(item, indent + 2) for item in value]
        left, right = "[]"
    room = WIDTH - indent
    if sum(map(len, parts)) + 2 * len(parts) <= room and not any("\n" in part for part in parts):
        return f"{left}{', '.join(parts)}{right}"
    lines = f",\n{inner}".join(parts)
    return f"{left}\n{inner}{lines}\n{' ' * indent}{right}"
