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

from gen.recipe.blends import MOST_DRAWS, MOST_PARTS
from gen.recipe.distributions import FIELDS
from gen.recipe.model import Catalogue
from gen.recipe.reader import LARGEST_SEED, RULER_LIMITS
from gen.recipe.require import MOST_REQUIREMENTS, SUBJECTS
from gen.recipe.schema_amounts import (
    Schema,
    amount,
    has,
    levels_schema,
    one_level,
    option_schema,
    units_of,
)
from gen.recipe.schema_entries import COMMON, distribution, part_of, requirement_of, sweep_of
from gen.recipe.schema_extends import EXTENDS_SCHEMA, known_by_schemas, leave_out_schema

SCHEMA_FILE = Path(__file__).with_name("recipe.schema.json")
"""The schema as a file that ships with the package."""

_DRAWN = ", drawn"
_REQUIRED = ", required"
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
            **{key: amount(*limits) for key, limits in RULER_LIMITS.items()},
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
            **{f"distribution {kind}": distribution(kind) for kind in FIELDS},
            "a sweep": _one_of(catalogue, ["perturbation", "unit", "levels"], ""),
            "a part": _one_of(catalogue, ["perturbation", "unit"], _DRAWN),
            "a requirement": _requirement(catalogue),
            **known_by_schemas(catalogue, option_schema),
            **{name: sweep_of(entry) for name, entry in catalogue.items()},
            **{f"{name}{_DRAWN}": part_of(entry) for name, entry in catalogue.items()},
            **{f"{name}{_REQUIRED}": requirement_of(e) for name, e in catalogue.items()},
            **{
                f"{name}, {unit.name}": one_level(unit)
                for name, entry in catalogue.items()
                for unit in units_of(entry)
            },
            **{
                f"{name}, {unit.name}, levels": levels_schema(unit)
                for name, entry in catalogue.items()
                for unit in units_of(entry)
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
            {"if": has("perturbation", name), "then": {"$ref": f"#/$defs/{name}{suffix}"}}
            for name in catalogue
        ],
    }


def _requirement(catalogue: Catalogue) -> Schema:
    """What a model has to keep: at nominal, in a blend, or at levels of a perturbation."""
    at_nominal = {key: value for key, value in COMMON.items() if key != "drop"}
    named = {"nominal": at_nominal | {"nominal": {"const": True}}}
    named["blend"] = COMMON | {"blend": {"type": "string"}}
    return {
        "description": "What a model has to keep.",
        "type": "object",
        "properties": {"perturbation": {"enum": list(catalogue)}},
        "oneOf": [{"required": [subject]} for subject in SUBJECTS],
        "allOf": [
            {"oneOf": [{"required": ["keeps"]}, {"required": ["drop"]}]},
            *({"if": {"required": [key]}, "then": _closed(keys)} for key, keys in named.items()),
            *(
                {"if": has("perturbation", name), "then": {"$ref": f"#/$defs/{name}{_REQUIRED}"}}
                for name in catalogue
            ),
        ],
    }


def _closed(properties: Schema) -> Schema:
    return {"additionalProperties": False, "properties": properties}
