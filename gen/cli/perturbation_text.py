"""What the catalogue says about perturbations, as lines for a terminal and as values."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from itertools import groupby
from typing import Any

from gen.cli.shown_levels import shown_levels
from gen.recipe.catalogue import Entry, Level, Option, Unit
from gen.recipe.lengths import NEEDS, length_unit
from gen.report.terminal import wrapped


def listing(entries: Sequence[Entry], *, width: int) -> list[str]:
    """Two lines or more a perturbation, under a heading for each station of the path of light.

    Parameters
    ----------
    entries
        In the order of the path of light.
    width
        Columns of the terminal.
    """
    lines: list[str] = []
    across = max(len(entry.name) for entry in entries)
    for station, members in groupby(entries, lambda entry: entry.station):
        if lines:
            lines.append("")
        lines += wrapped(f"{station}: {station_words(station)}", width, "", "  ")
        for entry in members:
            name = f"  {entry.name:<{across}}  "
            for unit in entry.units:
                lines += wrapped(unit_words(unit), width, name, " " * len(name))
                name = " " * len(name)
            lines += wrapped(entry.meaning, width, " " * 6, " " * 6)
    return lines


def everything_of(entry: Entry, unit: Unit, *, width: int) -> list[str]:
    """All that the catalogue says about one, and a sweep of it for a recipe.

    Parameters
    ----------
    entry
        Which.
    unit
        The unit of the sweep.
    width
        Columns of the terminal.
    """
    lines = [entry.name, *wrapped(entry.meaning, width, "  ", "  "), ""]

    def fact(name: str, said: str) -> None:
        lines.extend(wrapped(said, width, f"{name:<10}", " " * 10))

    fact("station", f"{entry.station}: {station_words(entry.station)}")
    for number, each in enumerate(entry.units):
        fact("" if number else "levels", unit_words(each, whole_list=True))
    if length_unit(entry) is not None:
        for name, key in NEEDS.items():
            fact("", f"or in {name}, for which the recipe states {key}")
    for number, option in enumerate(entry.options):
        fact("" if number else "options", option_words(option))
    lines += ["", "In a recipe:", "", *sweep_lines(entry, unit, width=width)]
    return lines


def sweep_lines(entry: Entry, unit: Unit, *, width: int) -> list[str]:
    """A sweep as a recipe has it, with the levels that are shown and every option at its default.

    Examples
    --------
    >>> from gen.perturb import CATALOGUE
    >>> mirror = CATALOGUE["mirror"]
    >>> print("\\n".join(sweep_lines(mirror, mirror.units[0], width=80)))
    [[sweep]]
    perturbation = "mirror"
    unit = "times"
    levels = [0, 1]
    along = "x"
    """
    levels = [_written(level) for level in shown_levels(entry, unit)]
    whole = f"levels = [{', '.join(levels)}]"
    lines = ["[[sweep]]", f'perturbation = "{entry.name}"', f'unit = "{unit.name}"']
    lines += [whole] if len(whole) <= width else ["levels = [", *(f"  {x}," for x in levels), "]"]
    lines += [
        f"{option.name} = {_written(option.default)}"
        for option in entry.options
        if option.default is not None
    ]
    return lines


def station_words(station: str) -> str:
    """What happens at a station, as the file of its perturbations says it.

    Examples
    --------
    >>> station_words("lens")
    'the lens sees it'
    """
    first = (import_module(f"gen.perturb.{station}").__doc__ or station).splitlines()[0]
    return first.partition(": ")[2].rstrip(".") or station


def unit_words(unit: Unit, *, whole_list: bool = False) -> str:
    """The range of a unit and its nominal level.

    Examples
    --------
    >>> unit_words(Unit("deg", nominal=0.0, low=-60.0, high=60.0))
    '-60 to 60 deg, nominal 0'
    """
    allowed = unit.allowed
    if unit.names and not whole_list:
        allowed = f"one of {len(unit.names)} {unit.name}s"
    return f"{allowed}, nominal {_written(unit.nominal)}"


def option_words(option: Option) -> str:
    """An option with what it may be, what it is when left out, and its meaning.

    Examples
    --------
    >>> option_words(Option("patch", default="paper", choices=("paper", "ink"), meaning="what"))
    'patch: "paper", "ink"; "paper" when left out; what'
    """
    default = "not used" if option.default is None else _written(option.default)
    return f"{option.name}: {option.allowed}; {default} when left out; {option.meaning}"


def as_values(entry: Entry) -> dict[str, Any]:
    """Everything about one as plain JSON values; a limit that the frame sets is null."""
    return {
        "name": entry.name,
        "station": entry.station,
        "meaning": entry.meaning,
        "units": [
            {
                "unit": unit.name,
                "nominal": unit.nominal,
                "low": unit.low,
                "high": unit.high,
                "whole": unit.whole,
                "names": list(unit.names),
                "shown": list(shown_levels(entry, unit)),
            }
            for unit in entry.units
        ],
        "also_in": list(NEEDS) if length_unit(entry) is not None else [],
        "options": [
            {
                "name": option.name,
                "default": option.default,
                "choices": list(option.choices),
                "low": option.low,
                "high": option.high,
                "meaning": option.meaning,
            }
            for option in entry.options
        ],
    }


def _written(level: Level | None) -> str:
    return f'"{level}"' if isinstance(level, str) else f"{level:.10g}"
