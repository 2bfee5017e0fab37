"""Requirements: what a model has to keep, as frozen values."""

from __future__ import annotations

from dataclasses import dataclass, field

from gen.recipe.catalogue import Level, Where

ESTIMATE, LOWER_END = "estimate", "lower end"
JUDGED_ON = (ESTIMATE, LOWER_END)
"""What a requirement may be judged on: the figure itself, or the lower end of its interval."""


@dataclass(frozen=True)
class Requirement:
    """Something that accuracy is held to: levels of a perturbation, a blend, or nominal.

    Attributes
    ----------
    keeps
        The accuracy to keep, over 0 and at most 1; None where `drop` says it.
    drop
        How far accuracy may fall below nominal, over 0 and under 1; None where
        `keeps` says it.
    judged_on
        "estimate", or "lower end" of the 95 % interval.
    perturbation, unit, options
        As in a sweep; empty for a blend and for nominal.
    levels
        Every level of the recipe's sweeps that it is about, in order, nominal among
        them where it lies between the ends.
    ends
        The two ends of the range; None where levels are listed one by one.
    blend
        The title of the blend that it is about, or empty.
    note
        What the author says about it.
    where
        Where it was written; not part of what the requirement *is*.
    """

    keeps: float | None
    drop: float | None = None
    judged_on: str = ESTIMATE
    perturbation: str = ""
    unit: str = ""
    options: tuple[tuple[str, Level | None], ...] = ()
    levels: tuple[Level, ...] = ()
    ends: tuple[float, float] | None = None
    blend: str = ""
    note: str = ""
    where: Where = field(default_factory=Where, compare=False)

    @property
    def of_nominal(self) -> bool:
        """Whether it is about marks as they are."""
        return not self.perturbation and not self.blend

    @property
    def axis(self) -> tuple[str, str, tuple[tuple[str, Level | None], ...]]:
        """What a sweep must have alike to be judged by it: perturbation, unit, options."""
        return self.perturbation, self.unit, self.options
