"""Models over the cells that belong together: a sweep, a grid, a blend."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.bootstrap import Resampled
from gen.evaluate.compared import (
    BlendOfCells,
    ComparedBlend,
    ComparedCell,
    ComparedGrid,
    ComparedSweep,
    GridOfCells,
    PairOverBlend,
    PairOverSweep,
    SweepOfCells,
)
from gen.evaluate.forecast import over_draws
from gen.evaluate.shares import Shares
from gen.evaluate.winning import leader, winner
from gen.recipe.model import Level

Right = dict[str, list[NDArray[np.bool_] | None]]
"""By cell, for each model which glyphs it reads rightly; None where it has no answers."""


def over_sweep(
    sweep: SweepOfCells, cells: Mapping[str, ComparedCell], right: Right, drawn: Resampled
) -> ComparedSweep:
    """A sweep of some models: who is better at which levels, and on average.

    Parameters
    ----------
    sweep
        Its cells.
    cells
        By name, compared.
    right
        By cell, for each model which glyphs it reads rightly.
    drawn
        The bootstrap's draws of these glyphs.
    """
    models = len(right[sweep.cells[0]])
    # Nominal stands in every sweep: being better there says nothing of any of them.
    moved = list(
        dict.fromkeys(
            cell
            for level, cell in zip(sweep.side.levels, sweep.cells, strict=True)
            if level != sweep.side.nominal
        )
    )
    rows = {
        place: {cell: row for cell in moved if (row := right[cell][place]) is not None}
        for place in range(models)
    }
    shares = {
        place: dict(zip(told, drawn.accuracy(np.stack(list(told.values()))).T, strict=True))
        for place, told in rows.items()
        if told
    }
    pairs = []
    for first, second in combinations(range(models), 2):
        better: dict[int, list[Level]] = {first: [], second: []}
        for level, cell in zip(sweep.side.levels, sweep.cells, strict=True):
            for difference in cells[cell].differences:
                if (difference.first, difference.second) == (first, second):
                    one = winner(difference)
                    if one is not None:
                        better[one].append(level)
        both = [c for c in moved if c in rows[first] and c in rows[second]]
        mean = None
        if both:
            value = float(np.mean([rows[first][c].mean() - rows[second][c].mean() for c in both]))
            values = np.mean([shares[first][c] - shares[second][c] for c in both], axis=0)
            mean = drawn.estimate(values, value)
        pairs.append(
            PairOverSweep(first, second, tuple(better[first]), tuple(better[second]), mean)
        )
    told = [c for c in moved if all(c in rows[place] for place in rows)]
    listed = [difference for cell in moved for difference in cells[cell].differences]
    return ComparedSweep(
        of=sweep,
        means=tuple(float(np.mean([rows[place][c].mean() for c in told])) for place in rows)
        if told
        else None,
        pairs=tuple(pairs),
        leader=leader(listed, models),
    )


def over_grid(grid: GridOfCells, cells: Mapping[str, ComparedCell], models: int) -> ComparedGrid:
    """A grid of some models: in how many cells each is better."""
    inside = dict.fromkeys(cell for row in grid.cells for cell in row)
    better = []
    for first, second in combinations(range(models), 2):
        won = [
            winner(difference)
            for cell in inside
            for difference in cells[cell].differences
            if (difference.first, difference.second) == (first, second)
        ]
        better.append((first, second, won.count(first), won.count(second)))
    return ComparedGrid(grid, tuple(better))


def over_blend(
    blend: BlendOfCells,
    cells: Mapping[str, ComparedCell],
    right: Right,
    drawn: Resampled,
    shares: Shares,
) -> ComparedBlend:
    """A blend of some models: the accuracy to expect of each, and who is better.

    Every model is shown the same draws. A glyph counts once in a test, on its first draw;
    over more draws the difference is told by the bootstrap, which takes or leaves a glyph
    with all of them.

    Parameters
    ----------
    blend
        Its cells.
    cells
        By name, compared; of the blend the first.
    right
        By cell, for each model which glyphs it reads rightly.
    drawn
        The bootstrap's draws of these glyphs.
    shares
        Makes accuracies of one draw.
    """
    models = len(right[blend.cells[0]])
    told = [
        [row for cell in blend.cells if (row := right[cell][place]) is not None]
        for place in range(models)
    ]
    pairs = []
    for first, second in combinations(range(models), 2):
        rows = [
            (a, b)
            for cell in blend.cells
            if (a := right[cell][first]) is not None and (b := right[cell][second]) is not None
        ]
        mean = None
        if len(rows) > 1:
            one, other = (np.stack(each) for each in zip(*rows, strict=True))
            values = (drawn.accuracy(one) - drawn.accuracy(other)).mean(axis=1)
            mean = drawn.estimate(values, float(one.mean() - other.mean()))
        pairs.append(PairOverBlend(first, second, len(rows), mean))
    return ComparedBlend(
        of=blend,
        accuracies=tuple(
            over_draws(np.stack(rows), shares, drawn) if rows else None for rows in told
        ),
        pairs=tuple(pairs),
        leader=leader(cells[blend.cells[0]].differences, models),
    )
