"""Levels whose unit is in doubt: what would be wrong whichever unit was meant."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gen.recipe.amounts import limits_text
from gen.recipe.catalogue import Entry
from gen.recipe.lengths import NEEDS, Ruler, find_unit, length_unit
from gen.recipe.levels import read_level
from gen.recipe.lines import Path
from gen.recipe.model import Unit
from gen.recipe.origins import Source
from gen.recipe.problems import Problems
from gen.recipe.spelling import shown


def possible_units(entry: Entry, ruler: Ruler) -> tuple[Unit, ...]:
    """Every unit of a perturbation, with limits that hold whatever the scale on paper is."""
    px = length_unit(entry)
    if px is None:
        return entry.units
    # How far a length may go on paper depends on the scale; that it isn't negative doesn't.
    low = 0.0 if px.low == 0.0 else None
    paper = (
        find_unit(entry, name, ruler) if ruler.known(name) else Unit(name, 0.0, low)
        for name in NEEDS
    )
    return (*entry.units, *paper)


def judge_in_each(value: object, units: Sequence[Unit], path: Path, problems: Problems) -> None:
    """Note the levels that are wrong in every one of some units.

    Parameters
    ----------
    value
        The levels as the file has them, whose form has been found good.
    units
        Those that may have been meant.
    path
        Where the levels stand.
    problems
        Takes what is wrong.
    """
    for key, item in _spots(value):
        if all(_is_wrong(item, unit) for unit in units):
            problems.add(
                (*path, key),
                "no unit takes this level",
                got=shown(item),
                allowed=" or ".join(limits_text(unit) for unit in units),
            )


def _spots(value: object) -> Iterable[tuple[str | int, object]]:
    if isinstance(value, list):
        return list(enumerate(value))
    if isinstance(value, dict):
        return [(key, value[key]) for key in ("from", "to") if key in value]
    return ()


def _is_wrong(item: object, unit: Unit) -> bool:
    alone = Problems(Source("recipe"))
    read_level(item, unit, (), alone)
    return len(alone) > 0
