"""`leave_out`: tables of a base that a recipe which extends it does without."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from gen.recipe.bases import EXTENDS, Layer
from gen.recipe.catalogue import Catalogue
from gen.recipe.grids import GRID_KEYS
from gen.recipe.identity import KEYS, key_named
from gen.recipe.lines import Path
from gen.recipe.origins import Placed
from gen.recipe.problems import Problems
from gen.recipe.require import SUBJECTS
from gen.recipe.spelling import listed, nearest_hint, shown
from gen.recipe.tables import Tables

LEAVE_OUT = "leave_out"
_SIDES = tuple(key for key in GRID_KEYS if key != "note")
_WORDS = {"sweep": "sweep", "grid": "grid", "blend": "blend", "require": "requirement"}
_FORMS = {
    "sweep": "[[leave_out.sweep]] with a perturbation and its options",
    "grid": "[[leave_out.grid]] with down and across",
    "blend": "[[leave_out.blend]] with a title",
    "require": "[[leave_out.require]] with what it is about",
}


def left_out(
    layer: Layer,
    base: Mapping[str, Sequence[Placed]],
    catalogue: Catalogue,
    problems: Problems,
) -> set[int]:
    """Judge the `leave_out` of one file.

    Parameters
    ----------
    layer
        The file, which has the key.
    base
        The tables of each kind that come of what it extends.
    catalogue
        The perturbations that exist.
    problems
        Takes what is wrong.

    Returns
    -------
    set of the `id` of each table of the base that goes.
    """
    value = layer.data[LEAVE_OUT]
    if EXTENDS not in layer.data:
        problems.add(
            (LEAVE_OUT,),
            "there is nothing to leave out of",
            allowed='"leave_out" in a recipe that extends another',
            hint='extends = "first-look"',
        )
        return set()
    if not isinstance(value, dict):
        problems.add(
            (LEAVE_OUT,),
            "what is left out is told by its kind",
            got=shown(value),
            allowed="; ".join(_FORMS.values()),
        )
        return set()
    tables = Tables(catalogue, problems)
    gone: set[int] = set()
    for kind, items in value.items():
        path = (LEAVE_OUT, kind)
        if kind not in KEYS:
            tables.unknown_key(
                kind, (LEAVE_OUT,), tuple(KEYS), hint=nearest_hint(kind, KEYS) or f"[[{kind}]]"
            )
        elif not isinstance(items, list):
            problems.add(path, "this must be a list of tables", got=shown(items), hint=_FORMS[kind])
        else:
            there = base.get(kind, ())
            for number, item in enumerate(items):
                gone |= _matched(tables, kind, item, (*path, number), there)
    return gone


def _matched(
    tables: Tables, kind: str, item: object, path: Path, there: Sequence[Placed]
) -> set[int]:
    """The tables of the base that one table of `leave_out` means."""
    before = len(tables.problems)
    if not isinstance(item, dict):
        tables.problems.add(path, "this must be a table", got=shown(item), hint=_FORMS[kind])
    elif kind == "blend":
        _keys(tables, item, path, ("title",))
        tables.title(item, path, hint="the title of a blend of the base")
    elif kind == "grid":
        _keys(tables, item, path, _SIDES)
        for side in _SIDES:
            if side in item:
                _perturbation(tables, item[side], (*path, side))
            else:
                tables.missing(path, side, allowed="{perturbation, options}")
    elif kind == "require" and "perturbation" not in item:
        _subject(tables, item, path)
    else:
        _perturbation(tables, item, path)
    if len(tables.problems) > before:
        return set()
    key = KEYS[kind](item, tables.catalogue)
    keys = [KEYS[kind](each.value, tables.catalogue) for each in there]
    if key is not None and key in keys:
        return {id(each) for each, its in zip(there, keys, strict=True) if its == key}
    known = dict.fromkeys(key_named(kind, each) for each in keys if each is not None)
    tables.problems.add(
        path,
        f"the base has no such {_WORDS[kind]}",
        got=key_named(kind, key),
        allowed="; ".join(known) or f"nothing: the base has no {_WORDS[kind]}",
    )
    return set()


def _perturbation(tables: Tables, item: object, path: Path) -> None:
    if not isinstance(item, dict):
        tables.problems.add(path, "this must be a table", got=shown(item))
        return
    if "perturbation" not in item:
        tables.missing(path, "perturbation", allowed=listed(tables.catalogue))
        return
    entry = tables.entry(item, path)
    if entry is not None:
        _keys(tables, item, path, ("perturbation", *(option.name for option in entry.options)))
        tables.options(item, entry, path)


def _subject(tables: Tables, item: Mapping[str, Any], path: Path) -> None:
    """What a requirement that is left out is about, when it isn't levels."""
    before = len(tables.problems)
    _keys(tables, item, path, SUBJECTS)
    if len(tables.problems) > before:
        return
    if len(item) != 1:
        tables.problems.add(
            path,
            "a requirement is about one thing",
            got=listed(item) or "none",
            allowed=f"one of {listed(SUBJECTS)}",
        )
    elif "nominal" in item and item["nominal"] is not True:
        tables.problems.add(
            (*path, "nominal"),
            '"nominal" can\'t be this',
            got=shown(item["nominal"]),
            allowed="true",
        )
    elif "blend" in item:
        tables.text(item["blend"], (*path, "blend"))


def _keys(tables: Tables, item: Mapping[str, Any], path: Path, known: tuple[str, ...]) -> None:
    for key in item:
        if key not in known:
            hint = nearest_hint(key, known) or f'no "{key}": what it is known by is enough'
            tables.unknown_key(key, path, known, hint=hint)
