"""Blends: several perturbations at once, each at a level drawn from a distribution."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

from gen.recipe.catalogue import Level, Where


@dataclass(frozen=True)
class Normal:
    """Levels about a mean, with a standard deviation."""

    mean: float
    sd: float


@dataclass(frozen=True)
class Uniform:
    """Levels from low to high, all equally likely."""

    low: float
    high: float


@dataclass(frozen=True)
class Triangular:
    """Levels from low to high, most likely at the mode and less so towards both ends."""

    low: float
    mode: float
    high: float


@dataclass(frozen=True)
class Discrete:
    """Some levels, each as likely as its share of all weights."""

    values: tuple[Level, ...]
    weights: tuple[float, ...]


Distribution = Normal | Uniform | Triangular | Discrete

DISTRIBUTIONS: dict[str, type[Distribution]] = {
    "normal": Normal,
    "uniform": Uniform,
    "triangular": Triangular,
    "discrete": Discrete,
}
"""Each distribution by the key that it is written under."""


@dataclass(frozen=True)
class Part:
    """One perturbation of a blend, its level drawn for each glyph.

    Attributes
    ----------
    perturbation, unit
        Names from the catalogue.
    drawn
        The distribution, in that unit.
    step
        Levels are whole multiples of it; 0 where the distribution is of single values.
    options
        Every option of the perturbation with its value, defaults filled in, sorted by name.
    where
        Where it was written; not part of what it *is*.
    """

    perturbation: str
    unit: str
    drawn: Distribution
    step: float = 0.0
    options: tuple[tuple[str, Level | None], ...] = ()
    where: Where = field(default_factory=Where, compare=False)

    @property
    def said(self) -> dict[str, Any]:
        """What decides the levels, as plain values."""
        stated = asdict(self.drawn)
        kept = {key: list(v) if isinstance(v, tuple) else v for key, v in stated.items()}
        return {
            "perturbation": self.perturbation,
            "unit": self.unit,
            "drawn": {type(self.drawn).__name__.lower(): kept},
            "step": self.step,
            "options": dict(self.options),
        }


@dataclass(frozen=True)
class Blend:
    """Several perturbations at once, their levels drawn anew for each glyph.

    Attributes
    ----------
    title
        What the blend stands for, in one line.
    parts
        The perturbations.
    draws
        How often each glyph is drawn.
    note
        What the author says about it.
    where
        Where it was written; not part of what the blend *is*.
    """

    title: str
    parts: tuple[Part, ...]
    draws: int = 1
    note: str = ""
    where: Where = field(default_factory=Where, compare=False)

    @property
    def said(self) -> dict[str, Any]:
        """What decides the pixels, as plain values: not the title, nor the note."""
        return {"draws": self.draws, "parts": [part.said for part in self.parts]}
