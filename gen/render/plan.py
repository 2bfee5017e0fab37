"""From a recipe and a frame to cells: what is to be rendered, each thing once."""

from __future__ import annotations

from dataclasses import dataclass

from gen.perturb import PERTURBATIONS
from gen.recipe.model import Level, Recipe, Sweep


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
    """

    sweep: Sweep
    title: str
    nominal: Level
    levels: tuple[Level, ...]
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Plan:
    """All that a recipe asks of one frame.

    Attributes
    ----------
    recipe, frame
        What was planned, for which (H, W) in px.
    sweeps
        In the recipe's order.
    cells
        Every distinct cell once; the first is nominal.
    left_out
        Sweeps that no frame of this shape can have, and why, a line each.
    """

    recipe: Recipe
    frame: tuple[int, int]
    sweeps: tuple[PlannedSweep, ...]
    cells: tuple[Cell, ...]
    left_out: tuple[str, ...] = ()

    @classmethod
    def nominal_only(cls, frame: tuple[int, int]) -> Plan:
        """The plan of an empty recipe: glyphs as they are."""
        return cls(Recipe("", "", 0, ()), frame, (), (NOMINAL,))


def make_plan(recipe: Recipe, frame: tuple[int, int]) -> Plan:
    """Hold a recipe to a frame and list its cells.

    A sweep that makes no sense in a frame of this shape, at any level but nominal, is
    left out and noted, so that one recipe serves square and other frames; a level
    that is out of range is an error.

    Parameters
    ----------
    recipe
        As read.
    frame
        (H, W) in px.

    Raises
    ------
    LevelError
        If a level can't be held by this frame, or no sweep makes sense in it; the
        place in the recipe is named.
    """
    sweeps: list[PlannedSweep] = []
    left_out: list[str] = []
    cells: dict[Cell, None] = {NOMINAL: None}
    for number, sweep in enumerate(recipe.sweeps, 1):
        perturbation = PERTURBATIONS[sweep.perturbation]
        unit = perturbation.entry.unit(sweep.unit)
        options = dict(sweep.options)
        why_not = perturbation.impossible(frame)
        if why_not is not None and len(left_out) + 1 < len(recipe.sweeps):
            left_out.append(f"{perturbation.title(options)}: {why_not}")
            continue
        for level in sweep.levels:
            perturbation.check(
                level, unit=unit, options=options, frame=frame, where=f"{sweep.where}"
            )
        levels = _with_nominal(sweep.levels, unit.nominal)
        stem = f"{number:02d}-{_stem(sweep, perturbation.title(options))}"
        planned = tuple(
            NOMINAL
            if level == unit.nominal
            else Cell(
                f"{stem}{_amount(level, sweep.unit)}",
                (Step(sweep.perturbation, sweep.unit, level, sweep.options),),
            )
            for level in levels
        )
        cells.update(dict.fromkeys(planned))
        sweeps.append(
            PlannedSweep(sweep, perturbation.title(options), unit.nominal, levels, planned)
        )
    return Plan(recipe, frame, tuple(sweeps), tuple(cells), tuple(left_out))


def _with_nominal(levels: tuple[Level, ...], nominal: Level) -> tuple[Level, ...]:
    if nominal in levels:
        return levels
    if isinstance(nominal, str):
        return (nominal, *levels)
    return tuple(sorted([*(level for level in levels if not isinstance(level, str)), nominal]))


def _stem(sweep: Sweep, title: str) -> str:
    words = "".join(c if c.isalnum() or c in ".+-" else "-" for c in title)
    return words.strip("-") or sweep.perturbation


def _amount(level: Level, unit: str) -> str:
    if isinstance(level, str):
        return "-" + level.replace(" ", "-").replace(",", "")
    return f"{level:+g}" + unit.replace(" ", "-")
