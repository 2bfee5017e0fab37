"""The levels of a sweep: a list, or from and to with a step or a count."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from gen.recipe.amounts import judge, limits_text, read_number
from gen.recipe.lines import Path
from gen.recipe.model import Level, Unit
from gen.recipe.problems import Problems
from gen.recipe.spacing import StepMissError, as_float, by_count, by_step, step_count
from gen.recipe.spelling import listed, nearest_hint, plain, quoted, shown

LIMIT = 10_000
"""Levels of one sweep. A sweep of more is a slip of the pen, and would fill a disk."""

TOTAL_LIMIT = 10 * LIMIT
"""Levels of a whole recipe, for the same reason."""

FORMS = "[a, b, ...], {from, to, step} or {from, to, count}"
_RANGE_KEYS = ("count", "from", "step", "to")


def read_levels(
    value: object, unit: Unit | None, path: Path, problems: Problems
) -> tuple[Level, ...]:
    """Levels as they are shown: amounts ascending, names as written.

    Parameters
    ----------
    value
        What the file says.
    unit
        What the levels are held to; None when the unit itself is in doubt, and
        only their form can be judged.
    path
        Where they stand.
    problems
        Takes what is wrong; the levels returned then don't count.
    """
    if isinstance(value, list):
        return _from_list(value, unit, path, problems)
    if isinstance(value, dict):
        return _from_range(value, unit, path, problems)
    hint = None if unit is None or unit.names else f"levels = [{shown(value)}]"
    problems.add(
        path,
        "levels must be a list or a range",
        got=shown(value),
        allowed=FORMS,
        hint=hint if read_number(value) is not None else None,
    )
    return ()


def _from_list(
    items: list[object], unit: Unit | None, path: Path, problems: Problems
) -> tuple[Level, ...]:
    if not items:
        problems.add(path, "there are no levels", got="[]", allowed=FORMS)
    if len(items) > LIMIT:
        problems.add(path, "too many levels", got=len(items), allowed=f"at most {LIMIT}")
        return ()
    levels: dict[Level, int] = {}
    for number, item in enumerate(items):
        level = read_level(item, unit, (*path, number), problems)
        if level is None:
            continue
        if level in levels:
            problems.add(
                (*path, number),
                "a level is there twice",
                got=shown(item),
                allowed=f"each level once; item {levels[level] + 1} is the same",
            )
        levels.setdefault(level, number)
    amounts = [level for level in levels if not isinstance(level, str)]
    names = [level for level in levels if isinstance(level, str)]
    if unit is None and amounts and names:
        problems.add(path, "levels are amounts or names, not both", got=shown(items))
    return (*sorted(amounts), *names)


def read_level(item: object, unit: Unit | None, path: Path, problems: Problems) -> Level | None:
    """One level, a name or an amount; None for what is neither, when that has been noted."""
    if isinstance(item, str) and (unit is None or unit.names):
        if unit is None or item in unit.names:
            return item
        problems.add(
            path,
            "unknown level",
            got=quoted(item),
            allowed=listed(unit.names),
            hint=nearest_hint(item, unit.names),
        )
        return None
    number = read_number(item)
    if unit is not None and unit.names:
        problems.add(path, "a level must be a name", got=shown(item), allowed=listed(unit.names))
        return None
    if number is None:
        allowed = limits_text(unit) if unit is not None else "a finite number"
        problems.add(path, "a level must be a finite number", got=shown(item), allowed=allowed)
        return None
    judge(number, unit, path, problems)
    return as_float(number)


def _from_range(
    table: Mapping[str, object], unit: Unit | None, path: Path, problems: Problems
) -> tuple[Level, ...]:
    before = len(problems)
    for key in table:
        if key not in _RANGE_KEYS:
            problems.add(
                path,
                f"unknown key {quoted(key)}",
                line_of=(*path, key),
                allowed=", ".join(_RANGE_KEYS),
                hint=nearest_hint(key, _RANGE_KEYS),
            )
    if unit is not None and unit.names:
        problems.add(
            path,
            "these levels are names, not a range",
            got=_said(table),
            allowed=listed(unit.names),
        )
        return ()
    misspelt = len(problems) > before
    first, last = (_end(table, key, unit, path, problems) for key in ("from", "to"))
    if ("step" in table) == ("count" in table) and not misspelt:
        problems.add(
            path,
            "a range has either a step or a count",
            got=_said(table),
            allowed="{from, to, step} or {from, to, count}",
        )
    if first is not None and last is not None and first >= last:
        same = first == last
        problems.add(
            path,
            '"from" must be less than "to"',
            got=_said(table),
            hint=f"levels = [{plain(first)}]"
            if same
            else f"from = {plain(last)}, to = {plain(first)}",
        )
    step = _step(table["step"], (*path, "step"), problems) if "step" in table else None
    count = _count(table["count"], (*path, "count"), problems) if "count" in table else None
    if len(problems) > before or first is None or last is None:
        return ()
    levels: tuple[float, ...] = ()
    if step is not None:
        levels = _stepped(first, last, step, path, problems)
    elif count is not None:
        levels = by_count(first, last, count)
    if len(set(levels)) < len(levels):
        problems.add(path, "levels are closer than numbers can tell apart", got=_said(table))
    for level in levels:
        # One such level speaks for all: they have one cause.
        if not judge(Decimal(repr(level)), unit, path, problems):
            break
    return levels


def _end(
    table: Mapping[str, object], key: str, unit: Unit | None, path: Path, problems: Problems
) -> Decimal | None:
    if key not in table:
        if all(each in _RANGE_KEYS for each in table):  # else the misspelt one speaks for it
            problems.add(path, f"missing key {quoted(key)}", got=_said(table), allowed=FORMS)
        return None
    number = read_number(table[key])
    if number is None:
        problems.add(
            (*path, key),
            f'"{key}" must be a finite number',
            got=shown(table[key]),
            allowed=limits_text(unit) if unit is not None else None,
        )
        return None
    judge(number, unit, (*path, key), problems)
    return number


def _step(value: object, path: Path, problems: Problems) -> Decimal | None:
    number = read_number(value)
    if number is None or number <= 0:
        problems.add(
            path, "a step must be a finite number", got=shown(value), allowed="greater than 0"
        )
        return None
    return number


def _count(value: object, path: Path, problems: Problems) -> int | None:
    if isinstance(value, bool) or not isinstance(value, int) or not 2 <= value <= LIMIT:
        problems.add(
            path, "a count must be a whole number", got=shown(value), allowed=f"2 to {LIMIT}"
        )
        return None
    return value


def _stepped(
    first: Decimal, last: Decimal, step: Decimal, path: Path, problems: Problems
) -> tuple[float, ...]:
    steps = step_count(first, last, step)
    if steps > LIMIT - 1:
        problems.add(
            path,
            "too many levels",
            got=f"{plain(first)} to {plain(last)} by {plain(step)}",
            allowed=f"at most {LIMIT}",
            hint="a larger step",
        )
        return ()
    try:
        return by_step(first, last, step)
    except StepMissError as miss:
        # A step longer than the range lands nowhere short of its end but at its start.
        ends = [plain(end) for end in (miss.below, miss.above) if end > first]
        problems.add(
            path,
            'the steps don\'t land on "to"',
            line_of=(*path, "to"),
            got=f"{plain(first)} to {plain(last)} by {plain(step)}",
            hint=" or ".join(f"to = {end}" for end in ends),
        )
        return ()


def _said(table: Mapping[str, object]) -> str:
    text = ", ".join(f"{key} = {shown(value)}" for key, value in table.items())
    return "{" + (text if len(text) <= 80 else text[:77] + "...") + "}"
