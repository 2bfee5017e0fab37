"""What there is to choose from: perturbations, their units and options."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

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
