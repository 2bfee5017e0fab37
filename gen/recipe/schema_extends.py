"""The part of the schema about recipes that extend others: `extends` and `leave_out`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from gen.recipe.model import Catalogue, Entry, Option

Schema = dict[str, Any]

KNOWN_BY = ", known by"

EXTENDS_SCHEMA: Schema = {
    "type": "string",
    # The path of a TOML file, relative and with / between folders; or a name.
    "pattern": r"^(?![/~]|[A-Za-z]:)([^\\]*\.toml|[^/\\]+)$",
    "description": "The recipe that this one extends: a relative path or a name.",
}
_THING: Schema = {"$ref": "#/$defs/a perturbation with options"}


def leave_out_schema() -> Schema:
    """What a recipe does without, each thing by what it is known by."""
    blend = _closed(["title"], {"title": {"type": "string", "pattern": r"^[^\n]*\S[^\n]*$"}})
    about = [
        _closed(["nominal"], {"nominal": {"const": True}}),
        _closed(["blend"], {"blend": {"type": "string"}}),
        _THING,
    ]
    kinds = {
        "sweep": _THING,
        "grid": _closed(["down", "across"], {"down": _THING, "across": _THING}),
        "blend": blend,
        "require": {"oneOf": about},
    }
    return {
        "description": "What it does without of the recipe that it extends.",
        **_closed([], {kind: {"type": "array", "items": one} for kind, one in kinds.items()}),
    }


def known_by_schemas(catalogue: Catalogue, option: Callable[[Option], Schema]) -> Schema:
    """The definitions that `leave_out_schema` refers to.

    Parameters
    ----------
    catalogue
        The perturbations that exist.
    option
        Gives the schema of the value of one option.
    """
    return {
        "a perturbation with options": {
            "type": "object",
            "required": ["perturbation"],
            "properties": {"perturbation": {"enum": list(catalogue)}},
            "allOf": [
                {
                    "if": {
                        "required": ["perturbation"],
                        "properties": {"perturbation": {"const": name}},
                    },
                    "then": {"$ref": f"#/$defs/{name}{KNOWN_BY}"},
                }
                for name in catalogue
            ],
        },
        **{f"{name}{KNOWN_BY}": _entry(entry, option) for name, entry in catalogue.items()},
    }


def _entry(entry: Entry, option: Callable[[Option], Schema]) -> Schema:
    keys = {each.name: option(each) for each in entry.options}
    return _closed([], {"perturbation": {"const": entry.name}, **keys})


def _closed(required: list[str], properties: Schema) -> Schema:
    schema: Schema = {
        "type": "object",
        "additionalProperties": False,
        "properties": properties,
    }
    return {**schema, "required": required} if required else schema
