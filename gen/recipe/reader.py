"""From a TOML text to a recipe, or to every reason why it isn't one."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path as File
from typing import TypeVar

from gen.core.errors import RecipeError
from gen.recipe.amounts import outside, read_number
from gen.recipe.bases import read_layers, unified
from gen.recipe.blends import read_blend
from gen.recipe.extending import merged
from gen.recipe.grids import read_grid
from gen.recipe.levels import TOTAL_LIMIT
from gen.recipe.lines import Path
from gen.recipe.model import Blend, Catalogue, Grid, Recipe, Requirement, Ruler, Sweep
from gen.recipe.problems import Problems
from gen.recipe.require import MOST_REQUIREMENTS, read_requirement
from gen.recipe.source import LARGEST_FILE, read_text
from gen.recipe.spacing import as_float
from gen.recipe.spelling import plain, shown
from gen.recipe.tables import TOP_KEYS, Tables
from gen.recipe.writer import recipe_text

LARGEST_SEED = 2**63 - 1
RULER_LIMITS = {"scan_dpi": (1.0, 100_000.0), "glyph_height_px": (1.0, 4096.0)}

_Read = TypeVar("_Read", Sweep, Grid, Blend, Requirement)


def read_recipe(path: str | os.PathLike[str], catalogue: Catalogue) -> Recipe:
    """Read a recipe file.

    Parameters
    ----------
    path
        A TOML file, UTF-8, at most 1 MiB. What it extends is found from its folder.
    catalogue
        The perturbations that exist.

    Raises
    ------
    RecipeError
        If the file can't be read or one thing in it is wrong.
    CombinedError
        If several things are wrong: all of them, in the order of the file.
    """
    file = os.fspath(path)
    return _parsed(read_text(path), catalogue, file, File(path).parent, os.path.realpath(path))


def parse_recipe(
    text: str,
    catalogue: Catalogue,
    *,
    file: str = "recipe",
    folder: str | os.PathLike[str] | None = None,
) -> Recipe:
    """Read a recipe from a text.

    Parameters
    ----------
    text
        TOML. Its line ends become line feeds, and a byte order mark is dropped.
    catalogue
        The perturbations that exist.
    file
        What errors call the text.
    folder
        Where a relative path that it extends starts from; None when there is none.

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
    return _parsed(text, catalogue, file, folder, None)


def _parsed(
    text: str,
    catalogue: Catalogue,
    file: str,
    folder: str | os.PathLike[str] | None,
    real: str | None,
) -> Recipe:
    """The recipe that comes of a text and of what it extends."""
    text = unified(text)
    layers = read_layers(text, file, folder=folder, real=real)
    data, problems = merged(layers, catalogue)
    recipe = _Reader(catalogue, problems).recipe(data, text)
    problems.raise_any()
    bases = tuple(layer.source.file for layer in layers[1:])
    return _standing_alone(recipe, recipe_text(data), file, bases) if bases else recipe


def _standing_alone(recipe: Recipe, text: str, file: str, bases: tuple[str, ...]) -> Recipe:
    """A recipe with what came of all files as its text, which must be read again one day."""
    if (size := len(text.encode("utf-8"))) > LARGEST_FILE:
        raise RecipeError(
            file,
            "what comes of it and of what it extends is too large for a recipe",
            got=f"{size} bytes",
            allowed="at most 1 MiB",
        )
    return replace(recipe, text=text, extends=bases)


class _Reader:
    """Judges one parsed file; every method notes what is wrong and goes on."""

    def __init__(self, catalogue: Catalogue, problems: Problems) -> None:
        self.problems = problems
        self.tables = Tables(catalogue, problems)
        self.levels = 0

    def recipe(self, data: Mapping[str, object], text: str) -> Recipe:
        # What can't be left out is said once, and not again of requirements on it.
        sound = len(self.problems) == 0
        for key in data:
            if key not in TOP_KEYS:
                self.tables.unknown_key(key, (), TOP_KEYS)
        title = self.tables.title(data, (), hint='title = "What this recipe asks"')
        ruler = self.tables.ruler = Ruler(
            *(self.length(data, key) for key in ("scan_dpi", "glyph_height_px"))
        )
        before = len(self.problems)
        sweeps = self.listed(data, "sweep", self.tables.sweep, lambda sweep: len(sweep.levels))
        sound = sound and len(self.problems) == before
        grids = self.listed(
            data,
            "grid",
            lambda item, path: read_grid(self.tables, item, path),
            lambda grid: len(grid.down.levels) * len(grid.across.levels),
        )
        before = len(self.problems)
        blends = self.listed(
            data,
            "blend",
            lambda item, path: read_blend(self.tables, item, path),
            lambda blend: blend.draws,
        )
        # What is wrong with a sweep is said once, and not again of each requirement.
        requirements = self.requirements(
            data, sweeps if sound else None, blends if len(self.problems) == before else None
        )
        note = self.tables.text(data.get("note", ""), ("note",)).strip()
        seed = self.seed(data.get("seed", 0))
        return Recipe(title, note, seed, sweeps, text, grids, blends, ruler, requirements)

    def requirements(
        self,
        data: Mapping[str, object],
        sweeps: tuple[Sweep, ...] | None,
        blends: tuple[Blend, ...] | None,
    ) -> tuple[Requirement, ...]:
        """What a model has to keep, which the sweeps and blends must test."""
        value = data.get("require")
        if isinstance(value, list) and len(value) > MOST_REQUIREMENTS:
            self.problems.add(
                ("require",),
                "too many requirements",
                got=len(value),
                allowed=f"at most {MOST_REQUIREMENTS}",
            )
            return ()
        return self.listed(
            data,
            "require",
            lambda item, path: read_requirement(
                self.tables, item, path, sweeps=sweeps, blends=blends
            ),
            lambda _: 0,
        )

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

    def length(self, data: Mapping[str, object], key: str) -> float | None:
        """One of the keys that turn lengths on paper into px."""
        if key not in data:
            return None
        number = read_number(data[key])
        low, high = RULER_LIMITS[key]
        if number is not None and not outside(number, low, high):
            return as_float(number)
        self.tables.wrong.add(key)
        unit = "px to the inch" if key == "scan_dpi" else "px"
        self.problems.add(
            (key,),
            f'"{key}" can\'t be this',
            got=shown(data[key]),
            allowed=f"{plain(low)} to {plain(high)} {unit}",
        )
        return None

    def listed(
        self,
        data: Mapping[str, object],
        key: str,
        read: Callable[[object, Path], _Read],
        size: Callable[[_Read], int],
    ) -> tuple[_Read, ...]:
        """All tables of one kind, as long as their levels don't grow out of hand."""
        value = data.get(key, [])
        if not isinstance(value, list):
            wanted = f"[[{key}]]"
            hint = f"{wanted}, with two brackets" if isinstance(value, dict) else wanted
            what = "requirements" if key == "require" else f"{key}s"
            self.problems.add(
                (key,), f"{what} must be a list of tables", got=shown(value), hint=hint
            )
            return ()
        found: list[_Read] = []
        for number, item in enumerate(value):
            found.append(read(item, (key, number)))
            self.levels += size(found[-1])
            if self.levels > TOTAL_LIMIT:
                self.problems.add(
                    (key, number),
                    "too many levels in one recipe",
                    got=f"{self.levels} up to here",
                    allowed=f"at most {TOTAL_LIMIT}",
                )
                break
        return tuple(found)
