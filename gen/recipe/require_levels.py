"""Which levels a requirement is about, held to the sweeps that test them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from gen.recipe.amounts import judge, limits_text, read_number
from gen.recipe.catalogue import Level, Unit
from gen.recipe.levels import read_levels
from gen.recipe.lines import Path
from gen.recipe.model import Sweep
from gen.recipe.spacing import as_float
from gen.recipe.spelling import listed, plain, quoted, shown
from gen.recipe.tables import Tables

RANGE_KEYS = ("from", "levels", "to", "within")
_RANGES = "within, from and to, or levels"


class Axis:
    """Reads what a requirement about a perturbation says, key by key.

    Parameters
    ----------
    tables
        Knows the catalogue and takes the problems.
    table, path
        What the file says, and where it stands.
    drops
        Whether a drop from nominal is limited.
    """

    def __init__(
        self, tables: Tables, table: Mapping[str, object], path: Path, *, drops: bool = False
    ) -> None:
        self.tables, self.table, self.path, self.drops = tables, table, path, drops
        self.problems = tables.problems

    def read(self, sweeps: Sequence[Sweep] | None) -> tuple[Sweep, tuple[float, float] | None]:
        """The levels that are judged, as a sweep, and the ends where they are a range."""
        entry = self.tables.entry(self.table, self.path)
        before = len(self.problems)
        unit = self.tables.unit(self.table, entry, self.path)
        options = () if entry is None else self.tables.options(self.table, entry, self.path)
        ends, levels = self.range(unit)
        if entry is None or unit is None or sweeps is None or len(self.problems) > before:
            return Sweep("", "", ()), None
        if ends is None and not levels:  # a misspelt key stands for the right one
            return Sweep("", "", ()), None
        asked = Sweep(entry.name, unit.name, levels, options)
        same = [
            (number, sweep)
            for number, sweep in enumerate(sweeps, 1)
            if (sweep.perturbation, sweep.unit, sweep.options)
            == (asked.perturbation, asked.unit, asked.options)
        ]
        if not same:
            self.untested(asked, sweeps)
            return asked, ends
        tested = {level for _, sweep in same for level in sweep.levels} | {unit.nominal}
        for level, at in self.places(levels, ends):
            if level not in tested:
                self.not_a_level(level, at, unit, same[0][0])
        if ends is not None:
            low, high = ends
            inside = [v for v in tested if not isinstance(v, str) and low <= v <= high]
            levels = tuple(sorted(inside))
        if self.drops and set(levels) == {unit.nominal}:
            self.problems.add(
                self.path, "nominal can't drop below itself", allowed="other levels for a drop"
            )
        return Sweep(entry.name, unit.name, levels, options), ends

    def places(
        self, levels: tuple[Level, ...], ends: tuple[float, float] | None
    ) -> list[tuple[Level, Path]]:
        """The levels that a sweep must have, each with the place that asks for it."""
        if ends is None:
            value = self.table["levels"]
            at: Path = (*self.path, "levels")
            if not isinstance(value, list):
                return [(level, at) for level in levels]
            written = {_level(item): number for number, item in enumerate(value)}
            return [(level, (*at, written[level])) for level in levels]
        keys = ("within", "within") if "within" in self.table else ("from", "to")
        return [(end, (*self.path, key)) for end, key in zip(ends, keys, strict=True)]

    def range(self, unit: Unit | None) -> tuple[tuple[float, float] | None, tuple[Level, ...]]:
        """The ends of a range, or levels one by one."""
        given = [key for key in RANGE_KEYS if key in self.table]
        if given not in (["within"], ["levels"], ["from", "to"], ["from"], ["to"]):
            if not any((*self.path, key) in self.tables.meant for key in RANGE_KEYS):
                self.problems.add(
                    self.path,
                    "a requirement says in one way which levels it is about",
                    got=listed(given) or "none",
                    allowed=_RANGES,
                    hint=None if given else "within = 2",
                )
            return None, ()
        if given == ["levels"]:
            at = (*self.path, "levels")
            return None, read_levels(self.table["levels"], unit, at, self.problems)
        if unit is not None and unit.names:
            self.problems.add(
                (*self.path, given[0]),
                "these levels are names, not a range",
                got=f"{given[0]} = {shown(self.table[given[0]])}",
                allowed=f"levels = [...] of {listed(unit.names)}",
            )
            return None, ()
        return (self.within(unit) if given == ["within"] else self.from_to(unit)), ()

    def within(self, unit: Unit | None) -> tuple[float, float] | None:
        """So far to either side of nominal, or to the one side that there is."""
        at, value = (*self.path, "within"), self.table["within"]
        number = read_number(value)
        if number is None or number <= 0:
            self.problems.add(
                at,
                '"within" must be a finite number',
                got=shown(value),
                allowed="greater than 0",
                hint="nominal = true, for nominal alone" if number == 0 else None,
            )
            return None
        if unit is None or isinstance(unit.nominal, str):
            return None
        ends = []
        nominal = Decimal(repr(unit.nominal))
        for end, limit in ((nominal - number, unit.low), (nominal + number, unit.high)):
            if limit == unit.nominal:
                ends.append(unit.nominal)  # levels of such a unit go one way only
            elif judge(end, unit, at, self.problems):
                ends.append(as_float(end))
        return (ends[0], ends[1]) if len(ends) == 2 else None

    def from_to(self, unit: Unit | None) -> tuple[float, float] | None:
        """From one level to another."""
        ends: list[Decimal] = []
        for key in ("from", "to"):
            if key not in self.table:
                self.tables.missing(self.path, key, allowed=_RANGES)
                continue
            number = read_number(self.table[key])
            if number is None:
                self.problems.add(
                    (*self.path, key),
                    f'"{key}" must be a finite number',
                    got=shown(self.table[key]),
                    allowed=limits_text(unit) if unit is not None else None,
                )
            elif judge(number, unit, (*self.path, key), self.problems):
                ends.append(number)
        if len(ends) < 2:
            return None
        low, high = ends
        if low >= high:
            self.problems.add(
                (*self.path, "from"),
                '"from" must be less than "to"',
                got=f"from = {plain(low)}, to = {plain(high)}",
                hint=f"levels = [{plain(low)}]"
                if low == high
                else f"from = {plain(high)}, to = {plain(low)}",
            )
            return None
        return as_float(low), as_float(high)

    def untested(self, asked: Sweep, sweeps: Sequence[Sweep]) -> None:
        """Note that no sweep is of this perturbation with these options and unit."""
        alike = [
            f"sweep {number} is {_worded(sweep)}"
            for number, sweep in enumerate(sweeps, 1)
            if sweep.perturbation == asked.perturbation
        ]
        self.problems.add(
            self.path,
            "no sweep tests this, so it could never be missed",
            got=_worded(asked),
            allowed="; ".join(alike[:4]) or "a perturbation that a sweep of this recipe has",
            hint=f"a [[sweep]] of {_worded(asked)}",
        )

    def not_a_level(self, level: Level, at: Path, unit: Unit, number: int) -> None:
        """Note that a level which is asked for is in no sweep."""
        name = quoted(level) if isinstance(level, str) else plain(level)
        self.problems.add(
            at,
            "no sweep tests a level that is required",
            got=name if unit.names else f"{name} {unit.name}",
            allowed="levels of its sweeps, the ends of the range among them",
            hint=f"{name} among the levels of sweep {number}",
        )


def _worded(sweep: Sweep) -> str:
    """A perturbation with its unit and options: "translation, unit "px", along "x"."""
    options = [f"{name} {_option(value)}" for name, value in sweep.options if value is not None]
    return ", ".join([sweep.perturbation, f"unit {quoted(sweep.unit)}", *options])


def _option(value: Level) -> str:
    """The value of an option as it is written in a recipe."""
    return quoted(value) if isinstance(value, str) else plain(value)


def _level(item: object) -> Level:
    """An item of a list of levels that has been read without a problem, as its level."""
    number = read_number(item)
    return str(item) if number is None else as_float(number)
