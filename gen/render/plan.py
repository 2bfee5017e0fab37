"""From a recipe and a frame to cells: what is to be rendered, each thing once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gen.recipe.model import Recipe, Sweep
from gen.render.blend import BlendCell, PlannedBlend, blend_axes, plan_blend
from gen.render.cells import NOMINAL, Axis, Cell, PlannedSweep, Step
from gen.render.grid import Known, PlannedGrid, grid_axes, plan_grid

__all__ = [
    "NOMINAL",
    "BlendCell",
    "Cell",
    "Plan",
    "PlannedBlend",
    "PlannedGrid",
    "PlannedSweep",
    "Step",
    "make_plan",
]


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
        Every distinct cell of sweeps and grids once, then each draw of the blends; the
        first is nominal.
    left_out
        What no frame of this shape can have, and why, a line each.
    grids, blends
        In the recipe's order.
    """

    recipe: Recipe
    frame: tuple[int, int]
    sweeps: tuple[PlannedSweep, ...]
    cells: tuple[Cell, ...]
    left_out: tuple[str, ...] = ()
    grids: tuple[PlannedGrid, ...] = ()
    blends: tuple[PlannedBlend, ...] = ()

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
    left_out = _LeftOut(len(recipe.sweeps) + len(recipe.grids) + len(recipe.blends))
    sweeps: list[PlannedSweep] = []
    for number, sweep in enumerate(recipe.sweeps, 1):
        axis = _axis(sweep, recipe, frame)
        if not left_out.noted(axis.title, (axis,)):
            sweeps.append(_planned(sweep, number, axis))
    cells: dict[Cell, None] = {NOMINAL: None}
    cells.update((cell, None) for sweep in sweeps for cell in sweep.cells)
    known: Known = {}
    for cell in cells:
        known.setdefault(frozenset(cell.steps), cell)
    grids: list[PlannedGrid] = []
    for number, grid in enumerate(recipe.grids, 1):
        sides = grid_axes(grid, recipe, frame)
        if not left_out.noted(f"grid {number}", sides):
            grids.append(plan_grid(grid, number, sides, known))
            cells.update((cell, None) for row in grids[-1].cells for cell in row)
    blends: list[PlannedBlend] = []
    for number, blend in enumerate(recipe.blends, 1):
        axes = blend_axes(blend, recipe, frame)
        if not left_out.noted(f'blend {number}, "{blend.title}"', axes):
            blends.append(plan_blend(blend, number, axes, recipe.seed))
            cells.update((cell, None) for cell in blends[-1].cells)
    return Plan(
        recipe,
        frame,
        tuple(sweeps),
        tuple(cells),
        tuple(left_out.lines),
        tuple(grids),
        tuple(blends),
    )


class _LeftOut:
    """What makes no sense in a frame, noted as long as something else remains."""

    def __init__(self, asked: int) -> None:
        self.asked = asked
        self.lines: list[str] = []

    def noted(self, title: str, axes: Iterable[Axis]) -> bool:
        """Whether something was left out."""
        for axis in axes:
            if axis.impossible is not None and len(self.lines) + 1 < self.asked:
                about = "" if title == axis.title else f"{axis.title}: "
                self.lines.append(f"{title}: {about}{axis.impossible}")
                return True
        return False


def _axis(sweep: Sweep, recipe: Recipe, frame: tuple[int, int]) -> Axis:
    return Axis.of(
        recipe,
        frame,
        perturbation=sweep.perturbation,
        unit=sweep.unit,
        options=sweep.options,
        where=f"{sweep.where}",
    )


def _planned(sweep: Sweep, number: int, axis: Axis) -> PlannedSweep:
    for level in sweep.levels:
        axis.check(level)
    levels = axis.with_nominal(sweep.levels)
    cells = []
    for level in levels:
        step = axis.step(level)
        name = f"{number:02d}-{axis.stem()}{axis.amount(level)}"
        cells.append(NOMINAL if step is None else Cell(name, (step,)))
    return PlannedSweep(sweep, axis.title, axis.unit.nominal, levels, tuple(cells), axis.ruler)
