"""What holding several models against each other gives: plain frozen values.

Nothing here computes; `compare.py` fills these in and `gen.report` prints them. Models
are named by their place in the comparison.
"""

from __future__ import annotations

from dataclasses import dataclass

from gen.evaluate.results import Estimate, Proportion, Side
from gen.recipe.model import Level


@dataclass(frozen=True)
class PairDifference:
    """How two models differ in one cell, on the same glyphs.

    Attributes
    ----------
    first, second
        The two, by place.
    value, low, high
        Accuracy of the first less that of the second, with its 95 % interval.
    only_first, only_second
        Glyphs read rightly by one of the two only.
    p_value
        McNemar's exact test, two-sided; 0.0 stands for less than 1e-300.
    p_holm
        The same after Holm's correction over all tests of the comparison.
    """

    first: int
    second: int
    value: float
    low: float
    high: float
    only_first: int
    only_second: int
    p_value: float
    p_holm: float


@dataclass(frozen=True)
class ComparedCell:
    """One cell of the plan.

    Attributes
    ----------
    cell
        Its name.
    accuracies
        One a model, on the glyphs compared; None where the model failed.
    differences
        One for each pair of models that both have answers, in the order of the pairs.
    """

    cell: str
    accuracies: tuple[Proportion | None, ...]
    differences: tuple[PairDifference, ...]


@dataclass(frozen=True)
class PairOverSweep:
    """Two models over a whole sweep.

    Attributes
    ----------
    first, second
        The two, by place.
    first_better, second_better
        Levels at which that one is better, p below 0.05 after Holm's correction.
    mean
        Mean over the sweep's levels, nominal left aside, of accuracy of the first less
        that of the second, with its interval; None when they share no such level.
    """

    first: int
    second: int
    first_better: tuple[Level, ...]
    second_better: tuple[Level, ...]
    mean: Estimate | None


@dataclass(frozen=True)
class SweepOfCells:
    """A sweep, and the cell of each of its levels."""

    side: Side
    cells: tuple[str, ...]


@dataclass(frozen=True)
class GridOfCells:
    """A grid, and its cells: for each level down, the cell of each level across."""

    title: str
    down: Side
    across: Side
    cells: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class BlendOfCells:
    """A blend, and its cells: one a draw, the first draw first."""

    title: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class ComparedSweep:
    """A sweep, compared.

    Attributes
    ----------
    of
        The sweep.
    means
        Mean accuracy over the levels that every model has answers at, nominal left
        aside, one a model; None when there is no such level.
    pairs
        All pairs of models.
    leader
        The model that is better than each other one at some level of the sweep and at
        no level worse than any, nominal left aside; None when there is no such model.
    """

    of: SweepOfCells
    means: tuple[float, ...] | None
    pairs: tuple[PairOverSweep, ...]
    leader: int | None


@dataclass(frozen=True)
class ComparedGrid:
    """A grid, compared.

    Attributes
    ----------
    of
        The grid.
    better
        For each pair of models (first, second, cells at which the first is better,
        cells at which the second is).
    """

    of: GridOfCells
    better: tuple[tuple[int, int, int, int], ...]


@dataclass(frozen=True)
class PairOverBlend:
    """Two models over all draws of a blend.

    Attributes
    ----------
    first, second
        The two, by place.
    draws
        Draws of each glyph that both have answers to.
    mean
        Accuracy of the first less that of the second over these draws, with its interval;
        None when there is but one, of which the difference in its cell tells all.
    """

    first: int
    second: int
    draws: int
    mean: Estimate | None


@dataclass(frozen=True)
class ComparedBlend:
    """A blend, compared.

    Attributes
    ----------
    of
        The blend. The differences in its first cell are those that are tested.
    accuracies
        Over all draws that each model has answers to, one a model; `n` counts glyphs and
        draws. None where there are none.
    pairs
        All pairs of models.
    leader
        The model that is better than each other one on the first draw; None when there is
        no such model.
    """

    of: BlendOfCells
    accuracies: tuple[Proportion | None, ...]
    pairs: tuple[PairOverBlend, ...]
    leader: int | None


@dataclass(frozen=True)
class Compared:
    """Models held against each other on the same glyphs in the same cells.

    Attributes
    ----------
    models
        How many.
    glyphs
        How many glyphs were compared: those that every model was scored on.
    counts
        Of them, how many are of each class.
    missing
        Glyphs of each model that another one wasn't scored on, and that are left out.
    cells
        Every cell once, nominal first; of a blend its first draw.
    sweeps, grids, blends
        In the recipe's order.
    tests
        How many tests Holm's correction was over: one for each pair and cell.
    drawn
        What the bootstrap drew: "glyphs" or "writers".
    """

    models: int
    glyphs: int
    counts: tuple[int, ...]
    missing: tuple[int, ...]
    cells: tuple[ComparedCell, ...]
    sweeps: tuple[ComparedSweep, ...]
    grids: tuple[ComparedGrid, ...]
    blends: tuple[ComparedBlend, ...]
    tests: int
    drawn: str

    def cell(self, name: str) -> ComparedCell:
        """The cell of a name."""
        return next(cell for cell in self.cells if cell.cell == name)
