"""Reading a blend: several perturbations at once, drawn from distributions."""

from __future__ import annotations

from collections.abc import Mapping

from gen.recipe.catalogue import Unit
from gen.recipe.distributions import read_distribution, read_step
from gen.recipe.drawn import DISTRIBUTIONS, Blend, Discrete, Distribution, Part
from gen.recipe.lines import Path
from gen.recipe.spelling import listed, quoted, shown
from gen.recipe.tables import Tables

BLEND_KEYS = ("draws", "note", "part", "title")
PART_KEYS = ("perturbation", "step", "unit", *DISTRIBUTIONS)
MOST_DRAWS = 1000
"""Draws of each glyph. More make a set larger without making it tell more."""
MOST_PARTS = 40

_NO_PART = Part("", "", Discrete((), ()))


def read_blend(tables: Tables, table: object, path: Path) -> Blend:
    """Judge one blend.

    Parameters
    ----------
    tables
        Knows the catalogue and takes the problems.
    table
        What the file says.
    path
        Where it stands.
    """
    if not isinstance(table, dict):
        tables.problems.add(path, "a blend must be a table", got=shown(table))
        return Blend("", ())
    for key in table:
        if key not in BLEND_KEYS:
            hint = f'"{key}" under a [[blend.part]]' if key in PART_KEYS else None
            tables.unknown_key(key, path, BLEND_KEYS, hint=hint)
    title = tables.title(table, path, hint='title = "What this blend stands for"')
    note = tables.text(table.get("note", ""), (*path, "note")).strip()
    parts = _parts(tables, table, path)
    return Blend(title, parts, _draws(tables, table, path), note, tables.problems.where(path))


def _draws(tables: Tables, table: Mapping[str, object], path: Path) -> int:
    value = table.get("draws", 1)
    if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= MOST_DRAWS:
        return value
    tables.problems.add(
        (*path, "draws"),
        "draws must be a whole number",
        got=shown(value),
        allowed=f"1 to {MOST_DRAWS}",
    )
    return 1


def _parts(tables: Tables, table: Mapping[str, object], path: Path) -> tuple[Part, ...]:
    if "part" not in table:
        tables.missing(path, "part", hint="[[blend.part]]")
        return ()
    value = table["part"]
    if not isinstance(value, list) or not 1 <= len(value) <= MOST_PARTS:
        tables.problems.add(
            (*path, "part"),
            "parts must be a list of tables",
            got=shown(value),
            allowed=f"1 to {MOST_PARTS} tables",
            hint="[[blend.part]]",
        )
        return ()
    parts: list[Part] = []
    for number, item in enumerate(value):
        at = (*path, "part", number)
        part = _part(tables, item, at)
        same = [
            place
            for place, each in enumerate(parts)
            if part.perturbation
            and (each.perturbation, each.options) == (part.perturbation, part.options)
        ]
        if same:
            tables.problems.add(
                (*at, "perturbation"),
                "a perturbation is there twice",
                got=quoted(part.perturbation),
                allowed=f"each once, or with other options; part {same[0] + 1} is the same",
            )
        parts.append(part)
    return tuple(parts)


def _part(tables: Tables, table: object, path: Path) -> Part:
    if not isinstance(table, dict):
        tables.problems.add(path, "a part must be a table", got=shown(table))
        return _NO_PART
    entry = tables.entry(table, path)
    tables.keys(table, entry, path, PART_KEYS)
    unit = tables.unit(table, entry, path)
    options = () if entry is None else tables.options(table, entry, path)
    drawn = _drawn(tables, table, unit, path)
    step = 0.0
    if drawn is not None:
        step = read_step(table.get("step"), drawn, unit, path, tables.problems)
    return Part(
        "" if entry is None else entry.name,
        "" if unit is None else unit.name,
        drawn or Discrete((), ()),
        step,
        options,
        tables.problems.where(path),
    )


def _drawn(
    tables: Tables, table: Mapping[str, object], unit: Unit | None, path: Path
) -> Distribution | None:
    keys = [key for key in DISTRIBUTIONS if key in table]
    if len(keys) != 1:
        if not any((*path, key) in tables.meant for key in DISTRIBUTIONS):
            tables.problems.add(
                path,
                "a part has one distribution",
                got=listed(keys) or "none",
                allowed=f"one of {listed(DISTRIBUTIONS)}",
                hint="discrete = {values = [...], weights = [...]}"
                if unit is not None and unit.names
                else "normal = {mean = 0, sd = 1}",
            )
        return None
    return read_distribution(keys[0], table[keys[0]], unit, (*path, keys[0]), tables.problems)
