"""The recipe format as a JSON Schema, made from the catalogue.

The file `recipe.schema.json` beside this module is what `schema_text` gives
for the catalogue that ships. What a schema can't say, the reader alone checks:
that "from" is less than "to", that steps land, and how many levels there are in all.

References
----------
JSON Schema 2020-12, https://json-schema.org/draft/2020-12/schema
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from gen.recipe.levels import LIMIT
from gen.recipe.model import Catalogue, Entry, Option, Unit
from gen.recipe.reader import LARGEST_SEED

SCHEMA_FILE = Path(__file__).with_name("recipe.schema.json")
"""The schema as a file that ships with the package."""

Schema = dict[str, Any]


def recipe_schema(catalogue: Catalogue) -> Schema:
    """The schema of a recipe that uses the perturbations of a catalogue.

    Parameters
    ----------
    catalogue
        The perturbations that exist.

    Returns
    -------
    dict that `json` can write.

    Examples
    --------
    >>> from gen.recipe.model import Entry, Unit
    >>> blur = Entry("blur", "lens", "defocus", (Unit("px", 0.0, 0.0, 8.0),))
    >>> schema = recipe_schema({"blur": blur})
    >>> schema["$defs"]["blur"]["properties"]["unit"]
    {'enum': ['px'], 'description': 'The unit of its levels.'}
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Inkdrift recipe",
        "description": "What is to be done to drawn marks, and how far, in physical units.",
        "type": "object",
        "required": ["title"],
        "additionalProperties": False,
        "properties": {
            "title": {"type": "string", "pattern": r"^[^\n]*\S[^\n]*$"},
            "note": {"type": "string"},
            "seed": {"type": "integer", "minimum": 0, "maximum": LARGEST_SEED, "default": 0},
            "sweep": {"type": "array", "items": _sweep(catalogue)},
        },
        "$defs": {name: _entry(entry) for name, entry in catalogue.items()},
    }


def schema_text(catalogue: Catalogue) -> str:
    """The schema as the text of its file.

    Examples
    --------
    >>> schema_text({}).endswith("}\\n")
    True
    """
    return json.dumps(recipe_schema(catalogue), indent=2, ensure_ascii=False) + "\n"


def _sweep(catalogue: Catalogue) -> Schema:
    return {
        "type": "object",
        "required": ["perturbation", "unit", "levels"],
        "properties": {"perturbation": {"enum": list(catalogue)}},
        "allOf": [
            {"if": _is("perturbation", name), "then": {"$ref": f"#/$defs/{name}"}}
            for name in catalogue
        ],
    }


def _is(key: str, value: str) -> Schema:
    return {"required": [key], "properties": {key: {"const": value}}}


def _entry(entry: Entry) -> Schema:
    return {
        "description": entry.meaning,
        "additionalProperties": False,
        "properties": {
            "perturbation": {"const": entry.name},
            "unit": {
                "enum": [unit.name for unit in entry.units],
                "description": "The unit of its levels.",
            },
            "levels": {"type": ["array", "object"]},
            "note": {"type": "string"},
            **{option.name: _option(option) for option in entry.options},
        },
        "allOf": [
            {"if": _is("unit", unit.name), "then": {"properties": {"levels": _levels(unit)}}}
            for unit in entry.units
        ],
    }


def _levels(unit: Unit) -> Schema:
    one: Schema = {"enum": list(unit.names)} if unit.names else _amount(unit.low, unit.high)
    if unit.whole:
        # JSON Schema counts 2.0 as an integer, and so does the reader.
        one["type"] = "integer"
    many = {
        "type": "array",
        "items": one,
        "minItems": 1,
        "maxItems": LIMIT,
        "uniqueItems": True,
        "description": f"{unit.allowed}; nominal {unit.nominal}",
    }
    if unit.names:
        return many
    ends = {"from": one, "to": one}
    return {
        "anyOf": [
            many,
            _range({**ends, "step": {"type": "number", "exclusiveMinimum": 0}}),
            _range({**ends, "count": {"type": "integer", "minimum": 2, "maximum": LIMIT}}),
        ]
    }


def _range(properties: Schema) -> Schema:
    return {
        "type": "object",
        "required": list(properties),
        "additionalProperties": False,
        "properties": properties,
    }


def _amount(low: float | None, high: float | None) -> Schema:
    schema: Schema = {"type": "number"}
    if low is not None:
        schema["minimum"] = low
    if high is not None:
        schema["maximum"] = high
    return schema


def _option(option: Option) -> Schema:
    ways: list[Schema] = []
    if option.choices:
        ways.append({"enum": list(option.choices)})
    if option.low is not None or option.high is not None:
        ways.append(_amount(option.low, option.high))
    schema: Schema = ways[0] if len(ways) == 1 else {"anyOf": ways}
    schema["description"] = option.meaning
    if option.default is not None:
        schema["default"] = option.default
    return schema
