"""One table of a recipe: what sweeps, the sides of grids and the parts of blends share."""

from __future__ import annotations

from collections.abc import Mapping

from gen.recipe.amounts import outside, read_number
from gen.recipe.any_unit import judge_in_each, possible_units
from gen.recipe.catalogue import Catalogue, Entry, Level, Option, Unit
from gen.recipe.lengths import NEEDS, Ruler, find_unit, length_unit, unit_names
from gen.recipe.levels import FORMS, read_levels
from gen.recipe.lines import Path
from gen.recipe.model import Sweep
from gen.recipe.problems import Problems
from gen.recipe.spacing import as_float
from gen.recipe.spelling import listed, nearest, nearest_hint, quoted, shown

TOP_KEYS = (
    "blend",
    "extends",
    "glyph_height_px",
    "grid",
    "leave_out",
    "note",
    "require",
    "scan_dpi",
    "seed",
    "sweep",
    "title",
)
SWEEP_KEYS = ("levels", "note", "perturbation", "unit")

_USUAL = {"scan_dpi": 200, "glyph_height_px": 20}


class Tables:
    """Judges the tables of one file; every method notes what is wrong and goes on.

    Parameters
    ----------
    catalogue
        The perturbations that exist.
    problems
        Takes what is wrong.
    """

    def __init__(self, catalogue: Catalogue, problems: Problems) -> None:
        self.catalogue = catalogue
        self.problems = problems
        self.ruler = Ruler()
        # Keys at the top that are there but wrong: that has been said once.
        self.wrong: set[str] = set()
        # Where a misspelt key stands for the right one, which then isn't missing.
        self.meant: set[Path] = set()

    def sweep(self, table: object, path: Path) -> Sweep:
        """A sweep, or a side of a grid, which has the same keys."""
        if not isinstance(table, dict):
            what = "a sweep" if path[0] == "sweep" else "a side of a grid"
            self.problems.add(path, f"{what} must be a table", got=shown(table))
            return Sweep("", "", ())
        entry = self.entry(table, path)
        self.keys(table, entry, path, SWEEP_KEYS)
        unit = self.unit(table, entry, path)
        levels: tuple[Level, ...] = ()
        if "levels" in table:
            at, before = (*path, "levels"), len(self.problems)
            levels = read_levels(table["levels"], unit, at, self.problems)
            in_doubt = unit is None and entry is not None and len(self.problems) == before
            if in_doubt and entry is not None and table.get("unit") not in unit_names(entry):
                units = possible_units(entry, self.ruler)
                judge_in_each(table["levels"], units, at, self.problems)
        else:
            self.missing(path, "levels", allowed=FORMS)
        values = () if entry is None else self.options(table, entry, path)
        note = self.text(table.get("note", ""), (*path, "note")).strip()
        name = "" if entry is None else entry.name
        said = "" if unit is None else unit.name
        return Sweep(name, said, levels, values, note, self.problems.where(path))

    def keys(
        self, table: Mapping[str, object], entry: Entry | None, path: Path, known: tuple[str, ...]
    ) -> None:
        """Refuse keys that are neither known nor an option of the perturbation."""
        entries = self.catalogue.values() if entry is None else (entry,)
        options = {option.name: option for each in entries for option in each.options}
        for key in table:
            if key not in known and key not in options:
                self.unknown_key(key, path, (*known, *options))
        if "perturbation" not in table:
            self.missing(path, "perturbation", allowed=listed(self.catalogue))

    def entry(self, table: Mapping[str, object], path: Path) -> Entry | None:
        """The perturbation that a table names."""
        known = tuple(self.catalogue)
        if "perturbation" not in table:
            return None
        name = table["perturbation"]
        if isinstance(name, str) and name in self.catalogue:
            return self.catalogue[name]
        self.problems.add(
            (*path, "perturbation"),
            "unknown perturbation",
            got=shown(name),
            allowed=listed(known),
            hint=nearest_hint(name, known),
        )
        return None

    def unit(self, table: Mapping[str, object], entry: Entry | None, path: Path) -> Unit | None:
        """The unit that a table names, or the only one there is; None when it is in doubt."""
        known = () if entry is None else unit_names(entry)
        if "unit" not in table:
            hint = f"unit = {quoted(known[0])}" if known else None
            self.missing(path, "unit", allowed=listed(known) or None, hint=hint)
            return _only(entry)
        name = table["unit"]
        if entry is None and isinstance(name, str):
            return None
        if entry is not None and isinstance(name, str) and name in known:
            return self.measured(entry, name, path)
        self.problems.add(
            (*path, "unit"),
            "unknown unit" if entry is None else f"unknown unit for {entry.name}",
            got=shown(name),
            allowed=listed(known) or "text",
            hint=nearest_hint(name, known) if known else None,
        )
        return _only(entry)

    def measured(self, entry: Entry, name: str, path: Path) -> Unit | None:
        """A unit that exists, if the recipe says all that it takes to tell it in px."""
        on_paper = name in NEEDS and length_unit(entry) is not None
        if on_paper and not self.ruler.known(name):
            key = NEEDS[name]
            if key not in self.wrong:
                self.problems.add(
                    (*path, "unit"),
                    f"{quoted(name)} can't be told in px without {quoted(key)}",
                    got=quoted(name),
                    allowed=f"{quoted(name)} where {quoted(key)} is stated; {quoted('px')}",
                    hint=f"{key} = {_USUAL[key]} above the first table",
                )
            return None
        return find_unit(entry, name, self.ruler)

    def options(
        self, table: Mapping[str, object], entry: Entry, path: Path
    ) -> tuple[tuple[str, Level | None], ...]:
        """Every option of a perturbation, defaults filled in, sorted by name."""
        return tuple(
            (
                option.name,
                self.option(table[option.name], option, (*path, option.name))
                if option.name in table
                else option.default,
            )
            for option in sorted(entry.options, key=lambda option: option.name)
        )

    def option(self, value: object, option: Option, path: Path) -> Level | None:
        """The value of one option."""
        if isinstance(value, str) and value in option.choices:
            return value
        number = read_number(value)
        takes_numbers = option.low is not None or option.high is not None
        if takes_numbers and number is not None and not outside(number, option.low, option.high):
            return as_float(number)
        self.problems.add(
            path,
            f'"{option.name}" can\'t be this',
            got=shown(value),
            allowed=option.allowed,
            hint=nearest_hint(value, option.choices) if option.choices else None,
        )
        return None

    def text(self, value: object, path: Path) -> str:
        """A text, on one line or more."""
        if isinstance(value, str):
            return value
        self.problems.add(path, f'"{path[-1]}" must be text', got=shown(value), allowed="text")
        return "-"

    def missing(
        self, path: Path, key: str, *, allowed: str | None = None, hint: str | None = None
    ) -> None:
        """Note that a key isn't there, unless a misspelt one stands for it."""
        if (*path, key) not in self.meant:
            self.problems.add(path, f"missing key {quoted(key)}", allowed=allowed, hint=hint)

    def title(self, table: Mapping[str, object], path: Path, *, hint: str) -> str:
        """A title: one line of text."""
        if "title" not in table:
            self.missing(path, "title", hint=hint)
        title = self.text(table.get("title", "-"), (*path, "title"))
        if not title.strip() or "\n" in title:
            self.problems.add(
                (*path, "title"), "a title must be one line of text", got=shown(title)
            )
        return title.strip()

    def unknown_key(
        self, key: str, path: Path, known: tuple[str, ...], *, hint: str | None = None
    ) -> None:
        """Refuse a key, with the one that was probably meant or the place where it belongs."""
        owners = [
            each.name
            for each in self.catalogue.values()
            if any(option.name == key for option in each.options)
        ]
        meant = nearest(key, known)
        if meant is not None:
            self.meant.add((*path, meant))
        if hint is not None:
            pass
        elif path and key in TOP_KEYS:
            hint = f'"{key}" above the first [[{path[0]}]]'
        elif not path and (key in SWEEP_KEYS or owners):
            hint = f'"{key}" under a [[sweep]]'
        elif owners:
            hint = f'no "{key}": it belongs to {", ".join(owners)}'
        elif meant is not None:
            hint = quoted(meant)
        self.problems.add(
            path,
            f"unknown key {quoted(key)}",
            line_of=(*path, key),
            allowed=", ".join(sorted(known)),
            hint=hint,
        )


def _only(entry: Entry | None) -> Unit | None:
    """The unit that must have been meant, where a perturbation has but one."""
    return entry.units[0] if entry is not None and len(unit_names(entry)) == 1 else None
