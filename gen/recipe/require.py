"""Reading a requirement: what a model has to keep, held to what the recipe tests.

A requirement that nothing tests would always be kept, so each must name levels that
a sweep of the recipe has, or a blend that is there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from gen.recipe.amounts import read_number
from gen.recipe.drawn import Blend
from gen.recipe.lines import Path
from gen.recipe.model import Sweep
from gen.recipe.require_levels import RANGE_KEYS, Axis
from gen.recipe.required import ESTIMATE, JUDGED_ON, Requirement
from gen.recipe.spacing import as_float
from gen.recipe.spelling import listed, nearest_hint, plain, quoted, shown
from gen.recipe.tables import Tables

SUBJECTS = ("blend", "nominal", "perturbation")
COMMON_KEYS = ("drop", "judged_on", "keeps", "note")
REQUIRE_KEYS = tuple(sorted((*SUBJECTS, *COMMON_KEYS, *RANGE_KEYS, "unit")))
MOST_REQUIREMENTS = 1000

_NONE = Requirement(None)


def read_requirement(
    tables: Tables,
    table: object,
    path: Path,
    *,
    sweeps: Sequence[Sweep] | None,
    blends: Sequence[Blend] | None,
) -> Requirement:
    """Judge one requirement.

    Parameters
    ----------
    tables
        Knows the catalogue and takes the problems.
    table
        What the file says.
    path
        Where it stands.
    sweeps, blends
        What the recipe tests; None where something in them is wrong, so that what a
        requirement needs of them can't be judged yet.
    """
    if not isinstance(table, dict):
        tables.problems.add(path, "a requirement must be a table", got=shown(table))
        return _NONE
    subject = _subject(tables, table, path)
    keeps, drop = _asked(tables, table, path)
    judged_on = _judged_on(tables, table, path)
    note = tables.text(table.get("note", ""), (*path, "note")).strip()
    where = tables.problems.where(path)
    if subject == "perturbation":
        sweep, ends = Axis(tables, table, path, drops="drop" in table).read(sweeps)
        return Requirement(
            keeps,
            drop,
            judged_on,
            sweep.perturbation,
            sweep.unit,
            sweep.options,
            sweep.levels,
            ends,
            note=note,
            where=where,
        )
    if subject == "nominal":
        _nominal(tables, table, path)
    blend = _blend(tables, table, path, blends) if subject == "blend" else ""
    return Requirement(keeps, drop, judged_on, blend=blend, note=note, where=where)


def _subject(tables: Tables, table: Mapping[str, object], path: Path) -> str | None:
    """What it is about, once the keys that don't go with it are refused."""
    named = [key for key in SUBJECTS if key in table]
    options: list[str] = []
    known = REQUIRE_KEYS
    if named == ["perturbation"] or len(named) != 1:
        name = table.get("perturbation")
        entry = tables.catalogue.get(name) if isinstance(name, str) else None
        entries = tables.catalogue.values() if entry is None else (entry,)
        options = list(dict.fromkeys(option.name for each in entries for option in each.options))
    else:
        known = tuple(sorted((*COMMON_KEYS, *named)))
    for key in table:
        if key not in known and key not in options:
            tables.unknown_key(key, path, (*known, *options))
    if len(named) == 1:
        return named[0]
    if not any((*path, key) in tables.meant for key in SUBJECTS):
        tables.problems.add(
            path,
            "a requirement is about one thing",
            got=listed(named) or "none",
            allowed=f"one of {listed(SUBJECTS)}",
        )
    return None


def _asked(
    tables: Tables, table: Mapping[str, object], path: Path
) -> tuple[float | None, float | None]:
    """The accuracy to keep, or how far it may drop."""
    both = [key for key in ("keeps", "drop") if key in table]
    if len(both) != 1 and not any((*path, key) in tables.meant for key in ("keeps", "drop")):
        tables.problems.add(
            path,
            "a requirement has an accuracy to keep, or a drop",
            got=listed(both) or "none",
            allowed='one of "keeps", "drop"',
            hint=None if both else "keeps = 0.95",
        )
    found: list[float | None] = []
    for key, most in (("keeps", "at most 1"), ("drop", "under 1")):
        number = read_number(table.get(key))
        good = (
            number is not None and number > 0 and (number < 1 or (number == 1 and key == "keeps"))
        )
        found.append(as_float(number) if good and number is not None else None)
        if key in table and not good:
            percent = number is not None and 1 < number <= 100
            tables.problems.add(
                (*path, key),
                f'"{key}" can\'t be this',
                got=shown(table[key]),
                allowed=f"a share over 0 and {most}",
                hint=f"{key} = {plain(number / 100)}" if percent and number is not None else None,
            )
    return found[0], found[1]


def _judged_on(tables: Tables, table: Mapping[str, object], path: Path) -> str:
    value = table.get("judged_on", ESTIMATE)
    if isinstance(value, str) and value in JUDGED_ON:
        return value
    tables.problems.add(
        (*path, "judged_on"),
        '"judged_on" can\'t be this',
        got=shown(value),
        allowed=listed(JUDGED_ON),
        hint=nearest_hint(value, JUDGED_ON),
    )
    return ESTIMATE


def _nominal(tables: Tables, table: Mapping[str, object], path: Path) -> None:
    if table["nominal"] is not True:
        tables.problems.add(
            (*path, "nominal"),
            '"nominal" can\'t be this',
            got=shown(table["nominal"]),
            allowed="true",
        )
    if "drop" in table:
        tables.problems.add(
            (*path, "drop"),
            "nominal can't drop below itself",
            got=f"drop = {shown(table['drop'])}",
            allowed='"keeps" for nominal',
        )


def _blend(
    tables: Tables, table: Mapping[str, object], path: Path, blends: Sequence[Blend] | None
) -> str:
    title = table["blend"]
    if not isinstance(title, str):
        tables.problems.add(
            (*path, "blend"), '"blend" must be text', got=shown(title), allowed="text"
        )
        return ""
    title = title.strip()
    if blends is None:
        return title
    titles = [blend.title for blend in blends]
    if title not in titles:
        tables.problems.add(
            (*path, "blend"),
            "no blend of this recipe has this title",
            got=quoted(title),
            allowed=listed(dict.fromkeys(titles)) or "the title of a blend; this recipe has none",
            hint=nearest_hint(title, titles) if titles else "[[blend]]",
        )
    elif titles.count(title) > 1:
        tables.problems.add(
            (*path, "blend"),
            "two blends have this title, so it doesn't say which is meant",
            got=quoted(title),
            allowed="a title that one blend has",
        )
    return title
