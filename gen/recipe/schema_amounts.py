"""The part of the schema about amounts: levels in their units, ranges of them, and options."""

from __future__ import annotations

from typing import Any

from gen.recipe.lengths import NEEDS, length_unit
from gen.recipe.levels import LIMIT
from gen.recipe.model import Entry, Option, Unit

Schema = dict[str, Any]

POSITIVE: Schema = {"type": "number", "exclusiveMinimum": 0}


def units_of(entry: Entry) -> list[Unit]:
    """Units with their limits; lengths on paper have theirs once the resolution is known."""
    paper = () if length_unit(entry) is None else NEEDS
    return [*entry.units, *(Unit(name, 0.0) for name in paper)]


def one_level(unit: Unit) -> Schema:
    """One level in a unit."""
    one: Schema = {"enum": list(unit.names)} if unit.names else amount(unit.low, unit.high)
    if unit.whole:
        # JSON Schema counts 2.0 as an integer, and so does the reader.
        one["type"] = "integer"
    return one


def levels_schema(unit: Unit) -> Schema:
    """The levels of a sweep in a unit: a list, or a range where they are numbers."""
    one = one_level(unit)
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
            _range({**ends, "step": POSITIVE}),
            _range({**ends, "count": {"type": "integer", "minimum": 2, "maximum": LIMIT}}),
        ]
    }


def where_levels(entry: Entry, unit: Unit) -> Schema:
    """Where the levels of a perturbation in a unit stand in the schema."""
    return {"$ref": f"#/$defs/{entry.name}, {unit.name}, levels"}


def _range(properties: Schema) -> Schema:
    return {
        "type": "object",
        "required": list(properties),
        "additionalProperties": False,
        "properties": properties,
    }


def amount(low: float | None, high: float | None) -> Schema:
    """A number within limits; None is no limit."""
    schema: Schema = {"type": "number"}
    if low is not None:
        schema["minimum"] = low
    if high is not None:
        schema["maximum"] = high
    return schema


def option_schema(option: Option) -> Schema:
    """An option of a perturbation."""
    ways: list[Schema] = []
    if option.choices:
        ways.append({"enum": list(option.choices)})
    if option.low is not None or option.high is not None:
        ways.append(amount(option.low, option.high))
    schema: Schema = ways[0] if len(ways) == 1 else {"anyOf": ways}
    schema["description"] = option.meaning
    if option.default is not None:
        schema["default"] = option.default
    return schema


def has(key: str, value: str) -> Schema:
    """A table whose key has one value."""
    return {"required": [key], "properties": {key: {"const": value}}}
