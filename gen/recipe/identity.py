"""By what a table of one recipe is known as the same thing as a table of another.

A sweep is known by its perturbation and its options, with those that are left out at
their defaults; a grid by both of its sides; a blend by its title; a requirement by what
it is about. Neither levels nor units count: a sweep in mm stands for the one in px.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from typing import Any

from gen.recipe.amounts import read_number
from gen.recipe.catalogue import Catalogue, Level
from gen.recipe.spacing import as_float
from gen.recipe.spelling import plain

Key = Hashable
Options = tuple[tuple[str, Level | None], ...]


def sweep_key(table: object, catalogue: Catalogue) -> tuple[str, Options] | None:
    """What a sweep is known by; None when it can't be told, which the reader then says."""
    if not isinstance(table, Mapping):
        return None
    name = table.get("perturbation")
    entry = catalogue.get(name) if isinstance(name, str) else None
    if entry is None:
        return None
    options: list[tuple[str, Level | None]] = []
    for option in sorted(entry.options, key=lambda option: option.name):
        value = table.get(option.name, option.default)
        if not isinstance(value, str | float | None):
            number = read_number(value)
            if number is None:
                return None
            value = as_float(number)
        options.append((option.name, value))
    return entry.name, tuple(options)


def grid_key(table: object, catalogue: Catalogue) -> Key | None:
    """What a grid is known by: its rows and its columns."""
    if not isinstance(table, Mapping):
        return None
    down, across = (sweep_key(table.get(side), catalogue) for side in ("down", "across"))
    return None if down is None or across is None else (down, across)


def blend_key(table: object, catalogue: Catalogue) -> Key | None:
    """What a blend is known by: its title."""
    title = table.get("title") if isinstance(table, Mapping) else None
    return title.strip() if isinstance(title, str) else None


def require_key(table: object, catalogue: Catalogue) -> Key | None:
    """What a requirement is known by: what it is about."""
    if not isinstance(table, Mapping):
        return None
    if "perturbation" in table:
        return sweep_key(table, catalogue)
    if "nominal" in table:
        return "nominal"
    title = table.get("blend")
    return ("blend", title.strip()) if isinstance(title, str) else None


KEYS: Mapping[str, Callable[[object, Catalogue], Any]] = {
    "sweep": sweep_key,
    "grid": grid_key,
    "blend": blend_key,
    "require": require_key,
}
"""For each kind of table that a recipe lists, what it is known by."""


def named(perturbation: str, options: Options) -> str:
    """A perturbation with its options in a few words.

    Examples
    --------
    >>> named("translation", (("along", "x"),))
    'translation along x'
    >>> named("placement", (("box_px", None), ("margin_px", 2.0)))
    'placement with margin_px 2'
    """
    said = {key: plain(value) if isinstance(value, float) else value for key, value in options}
    words = [perturbation]
    if along := said.pop("along", None):
        words.append(f"along {along}" if along in ("x", "y", "both") else f"along {along} deg")
    if about := said.pop("about", None):
        words.append(f"about the {about}")
    rest = [f"{key} {value}" for key, value in said.items() if value is not None]
    return " ".join(words) + (f" with {', '.join(rest)}" if rest else "")


def key_named(kind: str, key: Any) -> str:
    """What a table is known by in words, for a message.

    Examples
    --------
    >>> key_named("grid", (("blur", ()), ("scale", (("about", "mark"),))))
    'blur by scale about the mark'
    """
    if kind == "grid":
        down, across = key
        return f"{named(*down)} by {named(*across)}"
    if kind == "blend":
        return f'"{key}"'
    if key == "nominal":
        return "nominal"
    return f'the blend "{key[1]}"' if key[0] == "blend" else named(*key)
