"""From a TOML text to a recipe, or to every reason why it isn't one."""

from __future__ import annotations

import os
from collections.abc import Mapping

from gen.recipe.amounts import outside, read_number
from gen.recipe.levels import FORMS, TOTAL_LIMIT, read_levels
from gen.recipe.lines import Path, find_lines
from gen.recipe.model import Catalogue, Entry, Level, Option, Recipe, Sweep, Unit, Where
from gen.recipe.problems import Problems
from gen.recipe.source import parse_toml, read_text
from gen.recipe.spacing import as_float
from gen.recipe.spelling import listed, nearest, nearest_hint, quoted, shown

TOP_KEYS = ("note", "seed", "sweep", "title")
SWEEP_KEYS = ("levels", "note", "perturbation", "unit")
LARGEST_SEED = 2**63 - 1


def read_recipe(path: str | os.PathLike[str], catalogue: Catalogue) -> Recipe:
    """Read a recipe file.

    Parameters
    ----------
    path
        A TOML file, UTF-8, at most 1 MiB.
    catalogue
        The perturbations that exist.

    Raises
    ------
    RecipeError
        If the file can't be read or one thing in it is wrong.
    CombinedError
        If several things are wrong: all of them, in the order of the file.
    """
    return parse_recipe(read_text(path), catalogue, file=os.fspath(path))


def parse_recipe(text: str, catalogue: Catalogue, *, file: str = "recipe") -> Recipe:
    """Read a recipe from a text.

    Parameters
    ----------
    text
        TOML. Its line ends become line feeds, and a byte order mark is dropped.
    catalogue
        The perturbations that exist.
    file
        What errors call the text.

    Raises
    ------
    RecipeError
        If one thing is wrong.
    CombinedError
        If several things are wrong: all of them, in the order of the text.

    References
    ----------
    TOML 1.0.0, https://toml.io/en/v1.0.0

    Examples
    --------
    >>> from gen.recipe.model import Entry, Unit
    >>> blur = Entry("blur", "lens", "defocus", (Unit("px", 0.0, 0.0, 8.0),))
    >>> recipe = parse_recipe('''
    ... title = "Focus"
    ... [[sweep]]
    ... perturbation = "blur"
    ... unit = "px"
    ... levels = {from = 0, to = 0.3, step = 0.1}
    ... ''', {"blur": blur})
    >>> recipe.sweeps[0].levels
    (0.0, 0.1, 0.2, 0.3)
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    data = parse_toml(text, file)
    problems = Problems(file, find_lines(text, data))
    reader = _Reader(catalogue, problems)
    recipe = reader.recipe(data, text)
    problems.raise_any()
    return recipe


class _Reader:
    """Judges one parsed file; every method notes what is wrong and goes on."""

    def __init__(self, catalogue: Catalogue, problems: Problems) -> None:
        self.catalogue = catalogue
        self.problems = problems
        # Where a misspelt key stands for the right one, which then isn't missing.
        self.meant: set[Path] = set()

    def recipe(self, data: Mapping[str, object], text: str) -> Recipe:
        for key in data:
            if key not in TOP_KEYS:
                self.unknown_key(key, (), TOP_KEYS)
        if "title" not in data:
            self.missing((), "title", hint='title = "What this recipe asks"')
        title = self.text(data.get("title", "-"), ("title",))
        if not title.strip() or "\n" in title:
            self.problems.add(("title",), "a title must be one line of text", got=shown(title))
        sweeps = tuple(self.sweeps(data.get("sweep", [])))
        note = self.text(data.get("note", ""), ("note",))
        return Recipe(title.strip(), note.strip(), self.seed(data.get("seed", 0)), sweeps, text)

    def seed(self, value: object) -> int:
        if isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= LARGEST_SEED:
            return value
        self.problems.add(
            ("seed",),
            "a seed must be a whole number",
            got=shown(value),
            allowed=f"0 to {LARGEST_SEED}",
        )
        return 0

    def sweeps(self, value: object) -> list[Sweep]:
        if not isinstance(value, list):
            hint = "[[sweep]], with two brackets" if isinstance(value, dict) else "[[sweep]]"
            self.problems.add(
                ("sweep",), "sweeps must be a list of tables", got=shown(value), hint=hint
            )
            return []
        sweeps: list[Sweep] = []
        total = 0
        for number, item in enumerate(value):
            sweeps.append(self.sweep(item, ("sweep", number)))
            total += len(sweeps[-1].levels)
            if total > TOTAL_LIMIT:
                self.problems.add(
                    ("sweep", number),
                    "too many levels in one recipe",
                    got=f"{total} up to here",
                    allowed=f"at most {TOTAL_LIMIT}",
                )
                break
        return sweeps

    def sweep(self, table: object, path: Path) -> Sweep:
        if not isinstance(table, dict):
            self.problems.add(path, "a sweep must be a table", got=shown(table))
            return Sweep("", "", ())
        entry = self.entry(table, path)
        entries = self.catalogue.values() if entry is None else (entry,)
        options = {option.name: option for each in entries for option in each.options}
        for key in table:
            if key not in SWEEP_KEYS and key not in options:
                self.unknown_key(key, path, (*SWEEP_KEYS, *options))
        if "perturbation" not in table:
            self.missing(path, "perturbation", allowed=listed(self.catalogue))
        unit = self.unit(table, entry, path)
        levels: tuple[Level, ...] = ()
        if "levels" in table:
            levels = read_levels(table["levels"], unit, (*path, "levels"), self.problems)
        else:
            self.missing(path, "levels", allowed=FORMS)
        values = () if entry is None else self.options(table, entry, path)
        note = self.text(table.get("note", ""), (*path, "note")).strip()
        name = "" if entry is None else entry.name
        said = "" if unit is None else unit.name
        where: Where = self.problems.where(path)
        return Sweep(name, said, levels, values, note, where)

    def entry(self, table: Mapping[str, object], path: Path) -> Entry | None:
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
        known = () if entry is None else tuple(unit.name for unit in entry.units)
        if "unit" not in table:
            hint = f"unit = {quoted(known[0])}" if known else None
            self.missing(path, "unit", allowed=listed(known) or None, hint=hint)
            return None
        name = table["unit"]
        if entry is None and isinstance(name, str):
            return None
        if entry is not None and isinstance(name, str) and name in known:
            return entry.unit(name)
        self.problems.add(
            (*path, "unit"),
            "unknown unit" if entry is None else f"unknown unit for {entry.name}",
            got=shown(name),
            allowed=listed(known) or "text",
            hint=nearest_hint(name, known) if known else None,
        )
        return None

    def options(
        self, table: Mapping[str, object], entry: Entry, path: Path
    ) -> tuple[tuple[str, Level | None], ...]:
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
        if isinstance(value, str):
            return value
        self.problems.add(path, f'"{path[-1]}" must be text', got=shown(value), allowed="text")
        return "-"

    def missing(
        self, path: Path, key: str, *, allowed: str | None = None, hint: str | None = None
    ) -> None:
        if (*path, key) not in self.meant:
            self.problems.add(path, f"missing key {quoted(key)}", allowed=allowed, hint=hint)

    def unknown_key(self, key: str, path: Path, known: tuple[str, ...]) -> None:
        owners = [
            each.name
            for each in self.catalogue.values()
            if any(option.name == key for option in each.options)
        ]
        meant = nearest(key, known)
        hint = None if meant is None else quoted(meant)
        if meant is not None:
            self.meant.add((*path, meant))
        if path and key in TOP_KEYS:
            hint = f'"{key}" above the first [[sweep]]'
        elif not path and (key in SWEEP_KEYS or owners):
            hint = f'"{key}" under a [[sweep]]'
        elif owners:
            hint = f'no "{key}": it belongs to {", ".join(owners)}'
        self.problems.add(
            path,
            f"unknown key {quoted(key)}",
            line_of=(*path, key),
            allowed=", ".join(sorted(known)),
            hint=hint,
        )
