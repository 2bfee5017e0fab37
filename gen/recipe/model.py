"""What a recipe says, as frozen values, and the catalogue it is held to.

This room does not know any perturbation. What exists, in which units and
ranges, is handed in as a `Catalogue`; `gen.perturb.CATALOGUE` is the one that
ships.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from typing import Any

from gen.recipe.catalogue import Catalogue, Entry, Level, Option, Unit, Where
from gen.recipe.drawn import Blend, Discrete, Normal, Part, Triangular, Uniform
from gen.recipe.lengths import Ruler
from gen.recipe.required import Requirement

__all__ = [
    "Blend",
    "Catalogue",
    "Discrete",
    "Entry",
    "Grid",
    "Level",
    "Normal",
    "Option",
    "Part",
    "Recipe",
    "Requirement",
    "Ruler",
    "Sweep",
    "Triangular",
    "Uniform",
    "Unit",
    "Where",
]


@dataclass(frozen=True)
class Sweep:
    """One perturbation through its levels.

    Attributes
    ----------
    perturbation, unit
        Names from the catalogue.
    levels
        The levels in the order they are shown: amounts ascending, names as written.
    options
        Every option of the perturbation with its value, defaults filled in, sorted by name.
    note
        What the author says about it.
    where
        Where it was written; not part of what the sweep *is*.
    """

    perturbation: str
    unit: str
    levels: tuple[Level, ...]
    options: tuple[tuple[str, Level | None], ...] = ()
    note: str = ""
    where: Where = field(default_factory=Where, compare=False)

    def option(self, name: str) -> Level | None:
        """The value of one option, or None."""
        return dict(self.options).get(name)


@dataclass(frozen=True)
class Grid:
    """Two perturbations crossed: every level of one with every level of the other.

    Attributes
    ----------
    down, across
        What changes from row to row of the grid's picture, and from column to column.
    note
        What the author says about it.
    where
        Where it was written; not part of what the grid *is*.
    """

    down: Sweep
    across: Sweep
    note: str = ""
    where: Where = field(default_factory=Where, compare=False)


@dataclass(frozen=True)
class Recipe:
    """A recipe as read, with the text it came from.

    Attributes
    ----------
    title, note, seed
        As written.
    sweeps, grids, blends
        What is to be done to the marks.
    ruler
        What turns lengths on paper into px.
    requirements
        What a model has to keep; they change no picture, and so not the digest.
    text
        The file's text; of a recipe that extends another, what comes of all the files,
        which stands alone. Not part of what the recipe *is*.
    extends
        The files that it extends, nearest first; not part of what the recipe *is*.
    """

    title: str
    note: str
    seed: int
    sweeps: tuple[Sweep, ...]
    text: str = field(default="", compare=False)
    grids: tuple[Grid, ...] = ()
    blends: tuple[Blend, ...] = ()
    ruler: Ruler = field(default_factory=Ruler)
    requirements: tuple[Requirement, ...] = ()
    extends: tuple[str, ...] = field(default=(), compare=False)

    @property
    def digest(self) -> str:
        """SHA-256 of what decides the pixels: seed, sweeps, grids, blends; no words round them."""
        said: dict[str, Any] = {
            "seed": self.seed,
            "sweeps": [_said(sweep) for sweep in self.sweeps],
        }
        # What a recipe hasn't got is not in its digest, so that a new key never changes
        # the digest of a recipe without it.
        if self.grids:
            said["grids"] = [
                {"down": _said(grid.down), "across": _said(grid.across)} for grid in self.grids
            ]
        if self.blends:
            said["blends"] = [blend.said for blend in self.blends]
        units = {sweep.unit for sweep in self.sweeps}
        units |= {side.unit for grid in self.grids for side in (grid.down, grid.across)}
        units |= {part.unit for blend in self.blends for part in blend.parts}
        if used := self.ruler.said(units):
            said["ruler"] = used
        plain = json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
        return hashlib.sha256(plain.encode("ascii")).hexdigest()


def _said(sweep: Sweep) -> dict[str, Any]:
    return {
        "perturbation": sweep.perturbation,
        "unit": sweep.unit,
        "levels": list(sweep.levels),
        "options": dict(sweep.options),
    }
