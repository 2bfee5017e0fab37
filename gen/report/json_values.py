"""Values as JSON takes them, and the schemas they are valid against."""

from __future__ import annotations

import json
import math
from importlib import resources
from typing import Any

DIGITS = 6


def rounded(value: Any) -> Any:
    """The same values with every figure at six significant digits; null for no figure.

    Examples
    --------
    >>> rounded({"share": 0.123456789, "p": [1.23456789e-12, 3]})
    {'share': 0.123457, 'p': [1.23457e-12, 3]}
    """
    if isinstance(value, dict):
        return {str(key): rounded(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [rounded(item) for item in value]
    if isinstance(value, str):
        # A name out of a broken file may hold half a character.
        return value.encode("utf-8", "replace").decode("utf-8")
    if value is None or isinstance(value, bool):
        return value
    # numpy's scalars are no JSON values; int() and float() make them so.
    if not isinstance(value, float) and hasattr(value, "__index__"):
        return int(value)
    number = float(value)
    return float(f"{number:.{DIGITS}g}") + 0.0 if math.isfinite(number) else None


def schema_of(file: str) -> dict[str, Any]:
    """The JSON Schema (2020-12) of a file that is written.

    Examples
    --------
    >>> schema_of("report.json")["title"]
    'Inkdrift report'
    """
    name = file.replace(".json", ".schema.json")
    found: dict[str, Any] = json.loads(
        resources.files("gen.report").joinpath(name).read_text("utf-8")
    )
    return found
