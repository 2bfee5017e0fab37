"""The recipe format as a JSON Schema, made from the catalogue.

The file `recipe.schema.json` beside this module is what `schema_text` gives
for the catalogue that ships. What a schema can't say, the reader alone checks:
that "from" is less than "to", that steps land, that a distribution goes upwards, that
lengths on paper have a resolution, how many levels there are in all, that what is
required is tested, and that what is extended or left out is there.

References
----------
JSON Schema 2020-12, https://json-schema.org/draft/2020-12/schema
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from gen.recipe.blends import MOST_DRAWS, MOST_PARTS
from gen.recipe.distributions import FIELDS, LEAST_SPREAD, MOST_SPREAD
from gen.recipe.lengths import NEEDS, length_unit
from gen.recipe.levels import LIMIT
from gen.recipe.model import Catalogue, Entry, Option, Unit
from gen.recipe.reader import LARGEST_SEED, RULER_LIMITS
from gen.recipe.require import MOST_REQUIREMENTS, SUBJECTS
from gen.recipe.required import ESTIMATE, JUDGED_ON
from gen.recipe.schema_extends import EXTENDS_SCHEMA, known_by_schemas, leave_out_schema

SCHEMA_FILE = Path(__file__).with_name("recipe.schema.json")
"""The schema as a file that ships with the package."""

Schema = dict[str, Any]

_DRAWN = ", drawn"
_REQUIRED = ", required"
_POSITIVE: Schema = {"type": "number", "exclusiveMinimum": 0}
_TITLE: Schema = {"type": "string", "pattern": r"^[^\n]*\S[^\n]*$"}
_GRID: Schema = {
    "description": "Two perturbations crossed.",
    "type": "object",
    "required": ["down", "across"],
    "additionalProperties": False,
    "properties": {
        "down": {"$ref": "#/$defs/a sweep"},
        "across": {"$ref": "#/$defs/a sweep"},
        "note": {"type": "string"},
    },
}
_BLEND: Schema = {
    "description": "Several perturbations at once, drawn anew for each glyph.",
    "type": "object",
    "required": ["title", "part"],
    "additionalProperties": False,
    "properties": {
        "title": _TITLE,
        "draws": {"type": "integer", "minimum": 1, "maximum": MOST_DRAWS, "default": 1},
        "note": {"type": "string"},
        "part": {
            "type": "array",
            "items": {"$ref": "#/$defs/a part"},
            "minItems": 1,
            "maxItems": MOST_PARTS,
        },
    },
}
_COMMON: Schema = {
    "keeps": {"type": "number", "exclusiveMinimum": 0, "maximum": 1},
    "drop": {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1},
    "judged_on": {"enum": list(JUDGED_ON), "default": ESTIMATE},
    "note": {"type": "string"},
}
"""The keys that every requirement may have."""


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
    {'enum': ['px', 'mm', 'height'], 'description': 'The unit of its levels.'}
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Inkdrift recipe",
        "description": "What is to be done to drawn marks, and how far, in physical units.",
        "type": "object",
        "required": ["title"],
        "dependentRequired": {"leave_out": ["extends"]},
        "additionalProperties": False,
        "properties": {
            "extends": EXTENDS_SCHEMA,
            "leave_out": leave_out_schema(),
            "title": _TITLE,
            "note": {"type": "string"},
            "seed": {"type": "integer", "minimum": 0, "maximum": LARGEST_SEED, "default": 0},
            **{key: _amount(*limits) for key, limits in RULER_LIMITS.items()},
            "sweep": {"type": "array", "items": {"$ref": "#/$defs/a sweep"}},
            "grid": {"type": "array", "items": _GRID},
            "blend": {"type": "array", "items": _BLEND},
            "require": {
                "type": "array",
                "items": {"$ref": "#/$defs/a requirement"},
                "maxItems": MOST_REQUIREMENTS,
            },
        },
        "$defs": {
            **{f"distribution {kind}": _shape(kind) for kind in FIELDS},
            "a sweep": _one_of(catalogue, ["perturbation", "unit", "levels"], ""),
            "a part": _one_of(catalogue, ["perturbation", "unit"], _DRAWN),
            "a requirement": _requirement(catalogue),
            **known_by_schemas(catalogue, _option),
            **{name: _entry(entry) for name, entry in catalogue.items()},
            **{f"{name}{_DRAWN}": _drawn_entry(entry) for name, entry in catalogue.items()},
            **{f"{name}{_REQUIRED}": _required_entry(e) for name, e in catalogue.items()},
            **{
                f"{name}, {unit.name}": _level(unit)
                for name, entry in catalogue.items()
                for unit in _units(entry)
            },
            **{
                f"{name}, {unit.name}, levels": _levels(unit)
                for name, entry in catalogue.items()
                for unit in _units(entry)
            },
        },
    }


def schema_text(catalogue: Catalogue) -> str:
    """The schema as the text of its file.

    Examples
    --------
    >>> schema_text({}).endswith("}\\n")
    True
    """
    return json.dumps(recipe_schema(catalogue), indent=2, ensure_ascii=False) + "\n"


def _one_of(catalogue: Catalogue, required: list[str], suffix: str) -> Schema:
    """A table of any perturbation, which then says what else may be in it."""
    return {
        "type": "object",
        "required": required,
        "properties": {"perturbation": {"enum": list(catalogue)}},
        "allOf": [
            {"if": _is("perturbation", name), "then": {"$ref": f"#/$defs/{name}{suffix}"}}
            for name in catalogue
        ],
    }


def _is(key: str, value: str) -> Schema:
    return {"required": [key], "properties": {key: {"const": value}}}


def _entry(entry: Entry) -> Schema:
    return _table(
        entry,
        {"levels": {"type": ["array", "object"]}, "note": {"type": "string"}},
        [
            {"if": _is("unit", u.name), "then": {"properties": {"levels": _those(entry, u)}}}
            for u in _units(entry)
        ],
    )


def _drawn_entry(entry: Entry) -> Schema:
    """The part of a blend: exactly one distribution, which each unit judges in its own way."""
    shapes: Schema = {kind: {"$ref": f"#/$defs/distribution {kind}"} for kind in FIELDS}
    ways = [_then(entry, unit) for unit in _units(entry)]
    return _table(entry, shapes | {"step": _POSITIVE}, ways) | {
        "oneOf": [{"required": [kind]} for kind in FIELDS],
        "not": {"required": ["discrete", "step"]},
    }


def _requirement(catalogue: Catalogue) -> Schema:
    """What a model has to keep: at nominal, in a blend, or at levels of a perturbation."""
    at_nominal = {key: value for key, value in _COMMON.items() if key != "drop"}
    named = {"nominal": at_nominal | {"nominal": {"const": True}}}
    named["blend"] = _COMMON | {"blend": {"type": "string"}}
    return {
        "description": "What a model has to keep.",
        "type": "object",
        "properties": {"perturbation": {"enum": list(catalogue)}},
        "oneOf": [{"required": [subject]} for subject in SUBJECTS],
        "allOf": [
            {"oneOf": [{"required": ["keeps"]}, {"required": ["drop"]}]},
            *({"if": {"required": [key]}, "then": _closed(keys)} for key, keys in named.items()),
            *(
                {"if": _is("perturbation", name), "then": {"$ref": f"#/$defs/{name}{_REQUIRED}"}}
                for name in catalogue
            ),
        ],
    }


def _closed(properties: Schema) -> Schema:
    return {"additionalProperties": False, "properties": properties}


def _required_entry(entry: Entry) -> Schema:
    """Levels of one perturbation: a range about nominal, between two ends, or one by one."""
    number: Schema = {"type": "number"}
    keys: Schema = {"within": _POSITIVE, "from": number, "to": number}
    ways: list[Schema] = []
    for unit in _units(entry):
        one = {"$ref": f"#/$defs/{entry.name}, {unit.name}"}
        ends: Schema = dict.fromkeys(("from", "to"), one)
        if unit.names:
            ends = dict.fromkeys(("from", "to", "within"), False)
        known = ends | {"levels": _those(entry, unit)}
        ways.append({"if": _is("unit", unit.name), "then": {"properties": known}})
    return _table(entry, _COMMON | keys | {"levels": {"type": ["array", "object"]}}, ways) | {
        "required": ["unit"],
        "oneOf": [{"required": ["within"]}, {"required": ["levels"]}, {"required": ["from"]}],
        "dependentRequired": {"from": ["to"], "to": ["from"]},
    }


def _table(entry: Entry, keys: Schema, ways: list[Schema]) -> Schema:
    units = _units(entry)
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
            **{option.name: _option(option) for option in entry.options},
        },
        "allOf": ways,
    }


def _units(entry: Entry) -> list[Unit]:
    """Units with their limits; lengths on paper have theirs once the resolution is known."""
    paper = () if length_unit(entry) is None else NEEDS
    return [*entry.units, *(Unit(name, 0.0) for name in paper)]


def _shape(kind: str) -> Schema:
    """A distribution, whatever it is of."""
    spread = _amount(float(LEAST_SPREAD), float(MOST_SPREAD))
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
        known = {"normal": _held(mean=_amount(unit.low, unit.high) if unit.whole else one)}
        known |= {"uniform": _held(low=one, high=one)}
        known |= {"triangular": _held(low=one, mode=one, high=one)}
    known |= {"discrete": _held(values={"items": one})}
    if unit.whole:
        known["step"] = {"type": "integer", "minimum": 1}
    return {"if": _is("unit", unit.name), "then": {"properties": known}}


def _held(**keys: Schema) -> Schema:
    return {"properties": keys}


def _level(unit: Unit) -> Schema:
    one: Schema = {"enum": list(unit.names)} if unit.names else _amount(unit.low, unit.high)
    if unit.whole:
        # JSON Schema counts 2.0 as an integer, and so does the reader.
        one["type"] = "integer"
    return one


def _those(entry: Entry, unit: Unit) -> Schema:
    return {"$ref": f"#/$defs/{entry.name}, {unit.name}, levels"}


def _levels(unit: Unit) -> Schema:
    one = _level(unit)
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
            _range({**ends, "step": _POSITIVE}),
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
