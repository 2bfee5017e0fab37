"""Cells: what is rendered, stored and scored as one; and how a recipe's levels become them."""

from __future__ import annotations

from dataclasses import dataclass, field

from gen.core.errors import LevelError
from gen.perturb import PERTURBATIONS
from gen.recipe.lengths import NEEDS, as_px, find_unit, length_unit
from gen.recipe.model import Level, Recipe, Ruler, Sweep, Unit


@dataclass(frozen=True)
class Step:
    """One perturbation at one level, not nominal."""

    perturbation: str
    unit: str
    level: Level
    options: tuple[tuple[str, Level | None], ...] = ()


@dataclass(frozen=True)
class Cell:
    """One combination of levels: the unit of rendering, storing and scoring.

    Attributes
    ----------
    name
        Safe as a file name: "nominal", "translation-x+3px".
    steps
        What is done, in any order (physics orders it); empty for nominal.
    """

    name: str
    steps: tuple[Step, ...] = ()


NOMINAL = Cell("nominal")


@dataclass(frozen=True)
class PlannedSweep:
    """A sweep with its cells.

    Attributes
    ----------
    sweep
        As the recipe has it.
    title
        Words for a heading.
    nominal
        The nominal level in the sweep's unit.
    levels
        All levels in order, nominal put in where the recipe left it out.
    cells
        The cell of each level.
    ruler
        What tells lengths on paper in px.
    """

    sweep: Sweep
    title: str
    nominal: Level
    levels: tuple[Level, ...]
    cells: tuple[Cell, ...]
    ruler: Ruler = field(default_factory=Ruler)

    @property
    def unit(self) -> Unit:
        """The unit of the levels, with its limits; it may be a length on paper."""
        entry = PERTURBATIONS[self.sweep.perturbation].entry
        return find_unit(entry, self.sweep.unit, self.ruler)

    @property
    def px_per_unit(self) -> float | None:
        """How many px one of the unit has, where levels are lengths on paper; else None."""
        on_paper = self.sweep.unit in NEEDS and not isinstance(self.nominal, str)
        return self.ruler.px_per(self.sweep.unit) if on_paper else None

    @property
    def levels_px(self) -> tuple[float, ...] | None:
        """Lengths on paper in px; None where levels are no such lengths."""
        if self.px_per_unit is None:
            return None
        return tuple(self.ruler.in_px(float(level), self.sweep.unit) for level in self.levels)

    def limits(self, frame: tuple[int, int]) -> tuple[float, float]:
        """Least and greatest level that a frame can hold; (0, 0) where levels are names."""
        side = self.sweep
        low, high = Axis(
            side.perturbation, side.options, self.unit, self.ruler, frame, str(side.where)
        ).limits
        return (0.0, 0.0) if low is None or high is None else (low, high)


@dataclass(frozen=True)
class Axis:
    """One perturbation with its options in one unit, held to one frame.

    Attributes
    ----------
    perturbation, options
        From the recipe.
    unit
        The unit that the recipe has levels in, which may be a length on paper.
    ruler
        What tells such a length in px.
    frame
        (H, W) in px.
    where
        What errors call the place in the recipe.
    """

    perturbation: str
    options: tuple[tuple[str, Level | None], ...]
    unit: Unit
    ruler: Ruler
    frame: tuple[int, int]
    where: str

    @classmethod
    def of(
        cls,
        recipe: Recipe,
        frame: tuple[int, int],
        *,
        perturbation: str,
        unit: str,
        options: tuple[tuple[str, Level | None], ...],
        where: str,
    ) -> Axis:
        """The axis of a sweep, a side of a grid or a part of a blend."""
        entry = PERTURBATIONS[perturbation].entry
        found = find_unit(entry, unit, recipe.ruler)
        return cls(perturbation, options, found, recipe.ruler, frame, where)

    @property
    def title(self) -> str:
        """Words for a heading."""
        return PERTURBATIONS[self.perturbation].title(dict(self.options))

    @property
    def impossible(self) -> str | None:
        """Why no frame of this shape can have any level but nominal; None if it can."""
        return PERTURBATIONS[self.perturbation].impossible(self.frame)

    @property
    def px_per_unit(self) -> float | None:
        """How many px one of the unit has, where it is a length on paper."""
        return self.ruler.px_per(self.unit.name) if self.unit.name in NEEDS else None

    @property
    def limits(self) -> tuple[float | None, float | None]:
        """Least and greatest amount in this frame, in the axis's own unit."""
        if self.unit.names:
            return None, None
        low, high = PERTURBATIONS[self.perturbation].limits(
            self._own_unit, dict(self.options), self.frame
        )
        on_paper = self.unit.name in NEEDS
        return self.ruler.limits_in(self.unit.name, low, high) if on_paper else (low, high)

    @property
    def _own_unit(self) -> Unit:
        """The unit that the perturbation itself has."""
        entry = PERTURBATIONS[self.perturbation].entry
        px = length_unit(entry) if self.unit.name in NEEDS else None
        return px or entry.unit(self.unit.name)

    def check(self, level: Level) -> None:
        """Refuse a level that the frame can't hold.

        Raises
        ------
        LevelError
            With the level as it was written, and in px where that is another number.
        """
        told, _ = as_px(level, self.unit.name, self.ruler)
        try:
            PERTURBATIONS[self.perturbation].check(
                told,
                unit=self._own_unit,
                options=dict(self.options),
                frame=self.frame,
                where=self.where,
            )
        except LevelError as error:
            if self.unit.name not in NEEDS:
                raise
            raise LevelError(
                error.where,
                error.fact,
                got=f"{level:g} {self.unit.name}, which is {told:g} px",
                allowed=error.allowed,
                hint=error.hint,
            ) from error

    def step(self, level: Level) -> Step | None:
        """What is done at a level; None at nominal."""
        if level == self.unit.nominal:
            return None
        told, unit = as_px(level, self.unit.name, self.ruler)
        return Step(self.perturbation, unit, told, self.options)

    def with_nominal(self, levels: tuple[Level, ...]) -> tuple[Level, ...]:
        """Levels in order, nominal put in where the recipe left it out."""
        nominal = self.unit.nominal
        if nominal in levels:
            return levels
        if isinstance(nominal, str):
            return (nominal, *levels)
        return tuple(sorted([*(level for level in levels if not isinstance(level, str)), nominal]))

    def stem(self) -> str:
        """The title as a part of a file name."""
        words = "".join(c if c.isalnum() or c in ".+-" else "-" for c in self.title)
        return words.strip("-") or self.perturbation

    def amount(self, level: Level) -> str:
        """A level as a part of a file name."""
        if isinstance(level, str):
            return "-" + level.replace(" ", "-").replace(",", "")
        return f"{level:+g}" + self.unit.name.replace(" ", "-")
