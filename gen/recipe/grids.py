"""Reading a grid: two perturbations crossed."""

from __future__ import annotations

from gen.recipe.levels import LIMIT
from gen.recipe.lines import Path
from gen.recipe.model import Grid, Sweep
from gen.recipe.spelling import shown
from gen.recipe.tables import Tables

GRID_KEYS = ("across", "down", "note")
SIDE_FORM = "{perturbation, unit, levels, ...}"


def read_grid(tables: Tables, table: object, path: Path) -> Grid:
    """Judge one grid.

    Parameters
    ----------
    tables
        Knows the catalogue and takes the problems.
    table
        What the file says.
    path
        Where it stands.
    """
    if not isinstance(table, dict):
        tables.problems.add(path, "a grid must be a table", got=shown(table))
        return Grid(Sweep("", "", ()), Sweep("", "", ()))
    for key in table:
        if key not in GRID_KEYS:
            tables.unknown_key(key, path, GRID_KEYS)
    sides = []
    for key in ("down", "across"):
        if key not in table:
            tables.missing(path, key, allowed=SIDE_FORM)
        side = tables.sweep(table[key], (*path, key)) if key in table else Sweep("", "", ())
        sides.append(side)
    down, across = sides
    if down.perturbation and (down.perturbation, down.options) == (
        across.perturbation,
        across.options,
    ):
        tables.problems.add(
            (*path, "across"),
            "both sides of the grid are the same perturbation",
            got=f'"{across.perturbation}" down and across',
            allowed="two perturbations, or one with other options",
        )
    size = len(down.levels) * len(across.levels)
    if size > LIMIT:
        tables.problems.add(
            path,
            "too many cells in one grid",
            got=f"{len(down.levels)} x {len(across.levels)} = {size}",
            allowed=f"at most {LIMIT}",
        )
    note = tables.text(table.get("note", ""), (*path, "note")).strip()
    return Grid(down, across, note, tables.problems.where(path))
