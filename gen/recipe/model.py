"""What a recipe says, as frozen values, and the catalogue it is held to.

This room does not know any perturbation. What exists, in which units and
ranges, is handed in as a `Catalogue`; `gen.perturb.CATALOGUE` is the one that
ships.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field

Level = float | str
"""An amount in the unit of its sweep, or the name of a rule (placement)."""


@dataclass(frozen=True)
class Unit:
    """One way of stating the amount of a perturbation.

    Attributes
    ----------
    name
        The unit as it is written in a recipe: "px", "deg", "ratio" ...
    nominal
        The level at which nothing changes, byte for byte.
    low, high
        Least and greatest level; None where the frame sets the limit, which
        is then checked when the recipe is planned for a glyph set.
    whole
        Whether only whole numbers make sense (bytes, times).
    names
        The allowed levels where a level is a name and not an amount.
    """

    name: str
    nominal: Level
    low: float | None = None
    high: float | None = None
    whole: bool = False
    names: tuple[str, ...] = ()

    @property
    def allowed(self) -> str:
        """The range in words, for errors and listings."""
        if self.names:
            return ", ".join(f'"{name}"' for name in self.names)
        kind = "whole numbers " if self.whole else ""
        if self.low is None or self.high is None:
            return f"{kind}within the frame, in {self.name}"
        return f"{kind}{self.low:g} to {self.high:g} {self.name}"


@dataclass(frozen=True)
class Option:
    """A further key of a sweep that says how the perturbation is applied.

    Attributes
    ----------
    name
        The key: "along", "about", "box_px" ...
    default
        The value when the key is left out; None means "not used".
    choices
        Names that are allowed.
    low, high
        The range of numbers that are allowed; both None where only names are.
    meaning
        One line for listings.
    """

    name: str
    default: Level | None
    choices: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    meaning: str = ""

    @property
    def allowed(self) -> str:
        """The allowed values in words."""
        parts = [f'"{name}"' for name in self.choices]
        if self.low is not None and self.high is not None:
            parts.append(f"a number from {self.low:g} to {self.high:g}")
        return ", ".join(parts)


@dataclass(frozen=True)
class Entry:
    """What the catalogue says about one perturbation.

    Attributes
    ----------
    name
        As written in a recipe: "translation", "stroke-width" ...
    station
        Where in the path of light it happens: "ink", "pose", "lens", "sensor", "file".
    meaning
        One line for listings.
    units
        The units it may be stated in; the first is the usual one.
    options
        The further keys that it understands.
    """

    name: str
    station: str
    meaning: str
    units: tuple[Unit, ...]
    options: tuple[Option, ...] = ()

    def unit(self, name: str) -> Unit:
        """The unit of that name; KeyError when there is none."""
        for unit in self.units:
            if unit.name == name:
                return unit
        raise KeyError(name)


Catalogue = Mapping[str, Entry]


@dataclass(frozen=True)
class Where:
    """The place in a file that a value came from; line is None when unknown."""

    file: str = "recipe"
    line: int | None = None
    part: str = ""

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        return f"{place}: {self.part}" if self.part else place


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
class Recipe:
    """A recipe as read: title, note, seed and sweeps, with the text it came from."""

    title: str
    note: str
    seed: int
    sweeps: tuple[Sweep, ...]
    text: str = field(default="", compare=False)

    @property
    def digest(self) -> str:
        """SHA-256 of what decides the pixels: the seed and the sweeps, not the words round them."""
        said = {
            "seed": self.seed,
            "sweeps": [
                {
                    "perturbation": sweep.perturbation,
                    "unit": sweep.unit,
                    "levels": list(sweep.levels),
                    "options": dict(sweep.options),
                }
                for sweep in self.sweeps
            ],
        }
        plain = json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
        return hashlib.sha256(plain.encode("ascii")).hexdigest()
