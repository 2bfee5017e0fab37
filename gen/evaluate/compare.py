"""Which of several models reads better, and where: paired on every glyph, corrected for all tests.

The same glyphs were shown to every model, so only those on which two models disagree
tell anything about their difference.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import reduce
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import InkdriftError
from gen.evaluate.answered import Answered
from gen.evaluate.bootstrap import Resampled
from gen.evaluate.compare_over import Right, over_blend, over_grid, over_sweep
from gen.evaluate.compared import (
    BlendOfCells,
    Compared,
    ComparedCell,
    GridOfCells,
    PairDifference,
    SweepOfCells,
)
from gen.evaluate.differences import Differences
from gen.evaluate.multiple import holm
from gen.evaluate.results import Proportion
from gen.evaluate.shares import Shares
from gen.evaluate.winning import Pair


def compare(
    models: Sequence[Answered],
    sweeps: Sequence[SweepOfCells],
    grids: Sequence[GridOfCells] = (),
    blends: Sequence[BlendOfCells] = (),
    *,
    nominal: str = "nominal",
    names: Sequence[str] = (),
    progress: Callable[[int, int], None] | None = None,
) -> Compared:
    """Hold models against each other, each pair in each cell.

    Holm's correction runs over every pair in every cell, a cell that stands in many
    sweeps (nominal stands in all) counted once. Of a blend it is the first draw of each
    glyph that is tested: further draws of it are no further glyphs.

    Parameters
    ----------
    models
        Two or more, of one recipe on one set of glyphs.
    sweeps, grids, blends
        Which cells belong together.
    nominal
        Name of the nominal cell.
    names
        What the models are called in errors.
    progress
        Called with parts done and parts in all: the cells are one, and each sweep.

    Raises
    ------
    InkdriftError
        If there are fewer than two, or they aren't of one recipe and one set of glyphs,
        or were scored on no glyph in common.

    Examples
    --------
    Ten marks of one class; the second model misreads all of them once they are blurred.

    >>> from gen.evaluate.results import Side
    >>> def model(blurred):
    ...     answers = np.array([[0] * 10, [blurred] * 10], np.uint8)
    ...     return Answered("g", "r", ("pear", "plum"), ("nominal", "blur"), np.arange(10),
    ...                     np.zeros(10, np.uint8), answers, None)
    >>> side = Side("blur", "px", 0.0, (), "blur", (0.0, 1.0))
    >>> found = compare([model(0), model(1)], [SweepOfCells(side, ("nominal", "blur"))])
    >>> found.tests, found.sweeps[0].pairs[0].first_better, found.sweeps[0].leader
    (2, (1.0,), 0)
    """
    called = [names[at] if names else f"model {at + 1}" for at in range(len(models))]
    _check_comparable(models, called)
    indices = _shared(models, called)
    wanted = dict.fromkeys(
        (
            nominal,
            *(cell for sweep in sweeps for cell in sweep.cells),
            *(cell for grid in grids for row in grid.cells for cell in row),
            *(blend.cells[0] for blend in blends),
        )
    )
    further = [cell for blend in blends for cell in blend.cells]
    right: Right = {
        cell: [one.right(cell, indices) if cell in one.cells else None for one in models]
        for cell in (*wanted, *further)
    }
    told = progress or (lambda done, total: None)
    at = np.searchsorted(models[0].indices, indices)
    writers = None if models[0].writers is None else models[0].writers[at]
    pairs = list(combinations(range(len(models)), 2))
    shares = Shares.knowing(writers)
    cells = _cells({cell: right[cell] for cell in wanted}, pairs, shares)
    told(1, 1 + len(sweeps))
    by_name = {cell.cell: cell for cell in cells}
    drawn = Resampled.of(len(indices), writers=writers)
    compared = []
    for done, sweep in enumerate(sweeps, 2):
        compared.append(over_sweep(sweep, by_name, right, drawn))
        told(done, 1 + len(sweeps))
    return Compared(
        models=len(models),
        glyphs=len(indices),
        counts=tuple(np.bincount(models[0].labels[at], minlength=len(models[0].classes)).tolist()),
        missing=tuple(len(one.indices) - len(indices) for one in models),
        cells=cells,
        sweeps=tuple(compared),
        grids=tuple(over_grid(grid, by_name, len(models)) for grid in grids),
        blends=tuple(over_blend(blend, by_name, right, drawn, shares) for blend in blends),
        tests=sum(len(cell.differences) for cell in cells),
        drawn=drawn.drawn,
    )


def _check_comparable(models: Sequence[Answered], called: Sequence[str]) -> None:
    if len(models) < 2:
        raise InkdriftError("compare", "it takes two models to compare", got=len(models))
    first = models[0]
    for one, name in zip(models[1:], called[1:], strict=True):
        where = f"{called[0]} and {name}"
        for what, here, there, hint in (
            (
                "recipe",
                first.recipe_digest,
                one.recipe_digest,
                "score both models with one recipe file, unchanged in between",
            ),
            (
                "set of glyphs",
                first.glyphs_digest,
                one.glyphs_digest,
                "score both models on the same glyphs: the same source, --count and --seed",
            ),
        ):
            if here != there:
                raise InkdriftError(
                    where,
                    f"these can't be compared: they are not of one {what}",
                    got=f"SHA-256 {here[:12] or 'unknown'} and {there[:12] or 'unknown'}",
                    allowed=f"the same {what}",
                    hint=hint,
                )
        if first.classes != one.classes:
            raise InkdriftError(
                where,
                "these can't be compared: their classes differ",
                got=f"{', '.join(first.classes)} and {', '.join(one.classes)}",
            )


def _shared(models: Sequence[Answered], called: Sequence[str]) -> NDArray[np.int64]:
    """The glyphs that every model was scored on, ascending; their classes must agree."""
    indices: NDArray[np.int64] = reduce(np.intersect1d, [one.indices for one in models])
    if not len(indices):
        raise InkdriftError(
            " and ".join(called), "no glyph was scored for all of them, so nothing can be paired"
        )
    labels = [one.labels[np.searchsorted(one.indices, indices)] for one in models]
    for other, name in zip(labels[1:], called[1:], strict=True):
        if not np.array_equal(labels[0], other):
            raise InkdriftError(
                f"{called[0]} and {name}",
                "the true classes differ, though the glyphs are said to be the same",
                hint="one of the reports was changed; make it again",
            )
    return indices


def _cells(right: Right, pairs: Sequence[Pair], shares: Shares) -> tuple[ComparedCell, ...]:
    """Accuracy and differences of every cell, all tests corrected together."""
    paired, whose = [], []
    for cell, rows in right.items():
        for first, second in pairs:
            a, b = rows[first], rows[second]
            if a is None or b is None:
                continue
            whose.append((cell, first, second))
            paired.append((a, b))
    found = Differences.of(paired, shares.writers)
    adjusted = holm(found.p_values)
    differences: dict[str, list[PairDifference]] = {cell: [] for cell in right}
    for at, (cell, first, second) in enumerate(whose):
        differences[cell].append(
            PairDifference(
                first=first,
                second=second,
                value=float(found.value[at]),
                low=float(found.low[at]),
                high=float(found.high[at]),
                only_first=int(found.only_first[at]),
                only_second=int(found.only_second[at]),
                p_value=float(found.p_values[at]),
                p_holm=float(adjusted[at]),
            )
        )
    return tuple(
        ComparedCell(cell, _accuracies(rows, shares), tuple(differences[cell]))
        for cell, rows in right.items()
    )


def _accuracies(
    rows: Sequence[NDArray[np.bool_] | None], shares: Shares
) -> tuple[Proportion | None, ...]:
    return tuple(None if row is None else shares.of(row) for row in rows)
