"""The part of the schema about one perturbation: its sweep, part of a blend and requirement."""

from __future__ import annotations

from gen.recipe.distributions import FIELDS, LEAST_SPREAD, MOST_SPREAD
from gen.recipe.levels import LIMIT
from gen.recipe.model import Entry, Unit
from gen.recipe.required import ESTIMATE, JUDGED_ON
from gen.recipe.schema_amounts import (
    POSITIVE,
    Schema,
    amount,
    has,
    option_schema,
    units_of,
    where_levels,
)

COMMON: Schema = {
    "keeps": {"type": "number", "exclusiveMinimum": 0, "maximum": 1},
    "drop": {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1},
    "judged_on": {"enum": list(JUDGED_ON), "default": ESTIMATE},
    "note": {"type": "string"},
}
"""The keys that every requirement may have."""


def sweep_of(entry: Entry) -> Schema:
    """The sweep of one perturbation."""
    return _table(
        entry,
        {"levels": {"type": ["array", "object"]}, "note": {"type": "string"}},
        [
            {"if": has("unit", u.name), "then": {"properties": {"levels": where_levels(entry, u)}}}
            for u in units_of(entry)
        ],
    )


def part_of(entry: Entry) -> Schema:
    """The part of a blend: exactly one distribution, which each unit judges in its own way."""
    shapes: Schema = {kind: {"$ref": f"#/$defs/distribution {kind}"} for kind in FIELDS}
    ways = [_then(entry, unit) for unit in units_of(entry)]
    return _table(entry, shapes | {"step": POSITIVE}, ways) | {
        "oneOf": [{"required": [kind]} for kind in FIELDS],
        "not": {"required": ["discrete", "step"]},
    }


def requirement_of(entry: Entry) -> Schema:
    """Levels of one perturbation: a range about nominal, between two ends, or one by one."""
    number: Schema = {"type": "number"}
    keys: Schema = {"within": POSITIVE, "from": number, "to": number}
    ways: list[Schema] = []
    for unit in units_of(entry):
        one = {"$ref": f"#/$defs/{entry.name}, {unit.name}"}
        ends: Schema = dict.fromkeys(("from", "to"), one)
        if unit.names:
            ends = dict.fromkeys(("from", "to", "within"), False)
        known = ends | {"levels": where_levels(entry, unit)}
        ways.append({"if": has("unit", unit.name), "then": {"properties": known}})
    return _table(entry, COMMON | keys | {"levels": {"type": ["array", "object"]}}, ways) | {
        "required": ["unit"],
        "oneOf": [{"required": ["within"]}, {"required": ["levels"]}, {"required": ["from"]}],
        "dependentRequired": {"from": ["to"], "to": ["from"]},
    }


def _table(entry: Entry, keys: Schema, ways: list[Schema]) -> Schema:
    units = units_of(entry)
    return {
        "description": entry.meaning,
        "additionalProperties": False,
        "properties": {
            "perturbation": {"const": entry.name},
            "unit": {
                "enum": [unit.name for unit in units],
                "description": "The unit of its levels.",
            },
            **keys,
            **{option.name: option_schema(option) for option in entry.options},
        },
        "allOf": ways,
    }


def distribution(kind: str) -> Schema:
    """A distribution, whatever it is of."""
    spread = amount(float(LEAST_SPREAD), float(MOST_SPREAD))
    many: Schema = {"type": "array", "minItems": 1, "maxItems": LIMIT}
    kept: Schema = {"values": many | {"uniqueItems": True}, "weights": many | {"items": spread}}
    return {
        "type": "object",
        "required": [key for key in FIELDS[kind] if key != "weights"],
        "additionalProperties": False,
        "properties": {
            key: spread if key == "sd" else kept.get(key, {"type": "number"})
            for key in FIELDS[kind]
        },
    }


def _then(entry: Entry, unit: Unit) -> Schema:
    """What the distributions of levels in one unit are held to."""
    one = {"$ref": f"#/$defs/{entry.name}, {unit.name}"}
    if unit.names:
        known: Schema = {kind: False for kind in FIELDS if kind != "discrete"}
    else:
        # The mean of whole numbers need not be one.
        known = {"normal": _held(mean=amount(unit.low, unit.high) if unit.whole else one)}
        known |= {"uniform": _held(low=one, high=one)}
        known |= {"triangular": _held(low=one, mode=one, high=one)}
    known |= {"discrete": _held(values={"items": one})}
    if unit.whole:
        known["step"] = {"type": "integer", "minimum": 1}
    return {"if": has("unit", unit.name), "then": {"properties": known}}


def _held(**keys: Schema) -> Schema:
    return {"properties": keys}
