"""Some cells of a plan, asked for by name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fnmatch import fnmatchcase

from gen.core.errors import RecipeError
from gen.render.plan import NOMINAL, Cell, Plan, PlannedSweep


def chosen(plan: Plan, only: Sequence[str]) -> Plan:
    """The part of a plan that some patterns name; nominal always comes along.

    A pattern names a cell ("04-rotation+15deg"), a sweep by its title or its
    perturbation ("translation along x", "blur"),
    a grid or blend by its title, or several ("*rotation*").

    Parameters
    ----------
    plan
        All that a recipe asks for.
    only
        Patterns with * and ?; all cells when there are none.

    Raises
    ------
    RecipeError
        If a pattern names nothing.

    Examples
    --------
    >>> from gen.perturb.recipes import read_recipe
    >>> from gen.render.plan import make_plan
    >>> plan = make_plan(read_recipe("first-look"), (28, 28))
    >>> [cell.name for cell in chosen(plan, ["*-blur+1px", "*-blur+2px"]).cells]
    ['nominal', '07-blur+1px', '07-blur+2px']
    """
    if not only:
        return plan
    names = {NOMINAL.name}
    groups = _groups(plan)
    for pattern in only:
        found = {cell.name for cell in plan.cells if fnmatchcase(cell.name, pattern)}
        for words, cells in groups:
            if any(fnmatchcase(word, pattern) for word in words):
                found |= {cell.name for cell in cells}
        if not found:
            titles = dict.fromkeys(words[0] for words, _ in groups)
            raise RecipeError(
                "--only",
                "no cell, sweep or perturbation has that name",
                got=pattern,
                allowed=f"{', '.join(titles)}, or cells such as {plan.cells[-1].name}",
            )
        names |= found
    sweeps = (_part(sweep, names) for sweep in plan.sweeps)
    blends = (
        replace(blend, cells=tuple(cell for cell in blend.cells if cell.name in names))
        for blend in plan.blends
    )
    return replace(
        plan,
        cells=tuple(cell for cell in plan.cells if cell.name in names),
        sweeps=tuple(sweep for sweep in sweeps if set(sweep.cells) - {NOMINAL}),
        # A grid is told of as a whole or not at all; its cells are there either way.
        grids=tuple(
            grid for grid in plan.grids if {c.name for row in grid.cells for c in row} <= names
        ),
        blends=tuple(blend for blend in blends if blend.cells),
    )


def _groups(plan: Plan) -> list[tuple[tuple[str, ...], tuple[Cell, ...]]]:
    """Cells that go by a name together."""
    sweeps = [((s.title, s.sweep.perturbation), s.cells) for s in plan.sweeps]
    grids = [((g.title,), tuple(c for row in g.cells for c in row)) for g in plan.grids]
    blends = [((b.blend.title,), tuple[Cell, ...](b.cells)) for b in plan.blends]
    return [*sweeps, *grids, *blends]


def _part(sweep: PlannedSweep, names: set[str]) -> PlannedSweep:
    kept = [
        (level, cell)
        for level, cell in zip(sweep.levels, sweep.cells, strict=True)
        if cell.name in names
    ]
    return replace(
        sweep, levels=tuple(level for level, _ in kept), cells=tuple(cell for _, cell in kept)
    )
