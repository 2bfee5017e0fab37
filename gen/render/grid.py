"""Grids: two perturbations crossed, a cell for each pair of levels."""

from __future__ import annotations

from collections.abc import MutableMapping
from dataclasses import dataclass

from gen.recipe.model import Grid, Recipe
from gen.render.cells import NOMINAL, Axis, Cell, PlannedSweep, Step

Known = MutableMapping[frozenset[Step], Cell]
"""The cell of each combination of steps that has been planned."""


@dataclass(frozen=True)
class PlannedGrid:
    """A grid with its cells.

    Attributes
    ----------
    grid
        As the recipe has it.
    title
        Words for a heading.
    down, across
        Each side as a sweep by itself, with the other side at nominal.
    cells
        For each level down, the cell of each level across.
    number
        Its place among the recipe's grids, from 1.
    """

    grid: Grid
    title: str
    down: PlannedSweep
    across: PlannedSweep
    cells: tuple[tuple[Cell, ...], ...]
    number: int


def grid_axes(grid: Grid, recipe: Recipe, frame: tuple[int, int]) -> tuple[Axis, Axis]:
    """Both sides of a grid, held to a frame: down, across."""
    down, across = (
        Axis.of(
            recipe,
            frame,
            perturbation=side.perturbation,
            unit=side.unit,
            options=side.options,
            where=str(side.where),
        )
        for side in (grid.down, grid.across)
    )
    return down, across


def plan_grid(grid: Grid, number: int, axes: tuple[Axis, Axis], known: Known) -> PlannedGrid:
    """List the cells of a grid.

    Parameters
    ----------
    grid
        As the recipe has it.
    number
        Its place among the recipe's grids, from 1.
    axes
        From `grid_axes`.
    known
        Cells planned so far; a combination that is among them is that cell, and new
        ones are put in.

    Raises
    ------
    LevelError
        If the frame can't hold a level.
    """
    down, across = axes
    for axis, side in ((down, grid.down), (across, grid.across)):
        for level in side.levels:
            axis.check(level)
    rows, columns = down.with_nominal(grid.down.levels), across.with_nominal(grid.across.levels)
    cells = []
    for row in rows:
        line = []
        for column in columns:
            steps = tuple(
                step for step in (down.step(row), across.step(column)) if step is not None
            )
            name = (
                f"grid-{number:02d}-{down.stem()}{down.amount(row)}"
                f"-{across.stem()}{across.amount(column)}"
            )
            line.append(known.setdefault(frozenset(steps), Cell(name, steps)) if steps else NOMINAL)
        cells.append(tuple(line))
    at_row, at_column = rows.index(down.unit.nominal), columns.index(across.unit.nominal)
    return PlannedGrid(
        grid,
        f"{down.title} by {across.title}",
        PlannedSweep(
            grid.down,
            down.title,
            down.unit.nominal,
            rows,
            tuple(line[at_column] for line in cells),
            down.ruler,
        ),
        PlannedSweep(
            grid.across,
            across.title,
            across.unit.nominal,
            columns,
            cells[at_row],
            across.ruler,
        ),
        tuple(cells),
        number,
    )
