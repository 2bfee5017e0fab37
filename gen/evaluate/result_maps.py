"""Grids and blends, scored."""

from __future__ import annotations

from dataclasses import dataclass

from gen.evaluate.result_curves import Point
from gen.evaluate.result_shares import Difference, Proportion
from gen.recipe.model import Level


@dataclass(frozen=True)
class Side:
    """One side of a grid: what changes from row to row, or from column to column."""

    perturbation: str
    unit: str
    nominal: Level
    options: tuple[tuple[str, Level | None], ...]
    title: str
    levels: tuple[Level, ...]


@dataclass(frozen=True)
class GridMap:
    """A grid, scored.

    Attributes
    ----------
    title
        Words for a heading: "rotation by blur".
    down, across
        The two sides.
    points
        For each level down, the point of each level across; a point's `level` is the
        name of its cell. Differences are against nominal. None where the model failed.
    """

    title: str
    down: Side
    across: Side
    points: tuple[tuple[Point | None, ...], ...]


@dataclass(frozen=True)
class LossShare:
    """What one perturbation of a blend costs.

    Attributes
    ----------
    title, unit
        Which.
    alone
        Accuracy with this part alone, less nominal, paired.
    without
        Accuracy of the whole blend less that of the blend without this part, paired.
    share
        Of the blend's loss: the mean of the two over the loss, which is Shapley's
        value when parts interact in pairs at most; None where the interval of the loss
        holds 0, since a share of what may be nothing says nothing.
    """

    title: str
    unit: str
    alone: Difference
    without: Difference
    share: float | None


@dataclass(frozen=True)
class Forecast:
    """A blend, scored: the accuracy to expect of what it stands for.

    Attributes
    ----------
    title
        As the recipe has it.
    draws
        Draws of each glyph.
    accuracy
        Over all draws of all glyphs; `n` counts both. The interval is Wilson's for one
        draw, and of the bootstrap by glyphs (or writers) for more.
    loss
        Accuracy of the first draw less nominal, paired.
    parts
        What each perturbation costs, on the first draw.
    cells
        Names of the cells that it was scored in, one a draw.
    """

    title: str
    draws: int
    accuracy: Proportion
    loss: Difference
    parts: tuple[LossShare, ...]
    cells: tuple[str, ...]
