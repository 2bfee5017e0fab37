"""Blends: several perturbations at once, drawn anew for each glyph.

What a glyph gets is a pure function of the recipe's seed, the blend's place in the
recipe, the perturbation with its options, the glyph's index and the number of the
draw. Any glyph can be made alone, and another part, glyph or draw changes nothing.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from gen.core.draws import words
from gen.core.errors import LevelError
from gen.glyphs.base import Whole
from gen.recipe.drawn import Discrete, Normal
from gen.recipe.model import Blend, Level, Part, Recipe
from gen.render.cells import NOMINAL, Axis, Cell, Step
from gen.render.chances import Chances, chances

if TYPE_CHECKING:
    from gen.render.engine import Block, Rendered


@dataclass(frozen=True)
class PlannedPart:
    """One perturbation of a blend, with the levels that can be drawn.

    Attributes
    ----------
    part
        As the recipe has it.
    title
        Words for a heading.
    chances
        The levels, in the part's own unit, and how likely each is.
    steps
        What is done at each of these levels; None at nominal.
    purpose
        What the random words are keyed by, beside seed, glyph and draw.
    px_per_unit
        Where levels are lengths on paper, how many px one of the unit has; else None.
    """

    part: Part
    title: str
    chances: Chances
    steps: tuple[Step | None, ...]
    purpose: str
    px_per_unit: float | None = None

    @property
    def heading(self) -> str:
        """The title with the unit."""
        return f"{self.title}, {self.part.unit}"


@dataclass(frozen=True)
class DrawnLevels:
    """What some glyphs drew.

    Attributes
    ----------
    places
        ndarray of shape (n, parts), intp: index into the levels of each part.
    clipped
        ndarray of that shape, bool: whether the level drawn was outside the range,
        and the nearest inside was taken.
    """

    places: Whole
    clipped: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class BlendCell(Cell):
    """One draw of a blend for every glyph: a cell whose steps hang on the glyph.

    Attributes
    ----------
    name
        Safe as a file name: "blend-01-draw-2"; no two of a plan are the same.
    steps
        Empty: `cell_for` gives those of a glyph.
    parts
        The perturbations.
    seed, draw
        What the levels are drawn by; draws are counted from 0.
    """

    parts: tuple[PlannedPart, ...] = ()
    seed: int = 0
    draw: int = 0

    def drawn(self, indices: Whole) -> DrawnLevels:
        """What the glyphs at some indices draw."""
        places = np.empty((len(indices), len(self.parts)), np.intp)
        clipped = np.zeros(places.shape, np.bool_)
        for column, part in enumerate(self.parts):
            some = words(self.seed, part.purpose, indices, stream=self.draw)[:, 0]
            places[:, column], clipped[:, column] = part.chances.draw(some)
        return DrawnLevels(places, clipped)

    def levels_for(self, index: int) -> tuple[Level, ...]:
        """The level of each part for one glyph, in the part's own unit."""
        (row,) = self.drawn(np.array([index])).places
        return tuple(
            part.chances.levels[place] for part, place in zip(self.parts, row, strict=True)
        )

    def cell_for(self, index: int) -> Cell:
        """The cell that one glyph is rendered in."""
        (row,) = self.drawn(np.array([index])).places
        return self._cell(row)

    def groups(self, indices: Whole) -> list[tuple[Cell, Whole]]:
        """Glyphs that drew the same levels, together: their cell and their places in `indices`."""
        places = self.drawn(indices).places
        rows, which = np.unique(places, axis=0, return_inverse=True)
        order = np.argsort(which.reshape(-1), kind="stable")
        parted = np.split(order, np.cumsum(np.bincount(which.reshape(-1)))[:-1])
        return [(self._cell(row), group) for row, group in zip(rows, parted, strict=True)]

    def _cell(self, row: Whole) -> Cell:
        steps = (part.steps[place] for part, place in zip(self.parts, row, strict=True))
        done = tuple(step for step in steps if step is not None)
        return Cell(self.name, done) if done else NOMINAL


@dataclass(frozen=True)
class PlannedBlend:
    """A blend with a cell for each draw.

    Attributes
    ----------
    blend
        As the recipe has it.
    parts
        Its perturbations, held to the frame.
    cells
        One a draw.
    number
        Its place among the recipe's blends, from 1.
    """

    blend: Blend
    parts: tuple[PlannedPart, ...]
    cells: tuple[BlendCell, ...]
    number: int


def blend_axes(blend: Blend, recipe: Recipe, frame: tuple[int, int]) -> tuple[Axis, ...]:
    """The parts of a blend, held to a frame."""
    return tuple(
        Axis.of(
            recipe,
            frame,
            perturbation=part.perturbation,
            unit=part.unit,
            options=part.options,
            where=str(part.where),
        )
        for part in blend.parts
    )


def plan_blend(blend: Blend, number: int, axes: tuple[Axis, ...], seed: int) -> PlannedBlend:
    """Work out what a blend can draw.

    Parameters
    ----------
    blend
        As the recipe has it.
    number
        Its place among the recipe's blends, from 1; draws are keyed by it.
    axes
        From `blend_axes`.
    seed
        The recipe's.

    Raises
    ------
    LevelError
        If the frame can't hold what a distribution is stated with. What a normal
        distribution has beyond the range is clipped to it.
    """
    parts = tuple(
        _planned(part, number, axis) for part, axis in zip(blend.parts, axes, strict=True)
    )
    digits = len(str(blend.draws))
    cells = tuple(
        BlendCell(f"blend-{number:02d}-draw-{draw + 1:0{digits}d}", (), parts, seed, draw)
        for draw in range(blend.draws)
    )
    return PlannedBlend(blend, parts, cells, number)


def _planned(part: Part, number: int, axis: Axis) -> PlannedPart:
    drawn = part.drawn
    if isinstance(drawn, Discrete):
        stated: tuple[Level, ...] = drawn.values
    else:
        stated = (drawn.mean,) if isinstance(drawn, Normal) else (drawn.low, drawn.high)
    for level in stated:
        axis.check(level)
    low, high = axis.limits
    try:
        table = chances(drawn, step=part.step, low=low, high=high, whole=axis.unit.whole)
    except ValueError as cause:
        raise LevelError(
            axis.where,
            "no level inside the range is a whole number of steps",
            got=f"steps of {part.step:g} {part.unit}",
            allowed=f"{low:g} to {high:g} {part.unit}",
            hint="a smaller step",
        ) from cause
    said = dict(part.options)
    purpose = json.dumps(["blend", number, part.perturbation, said], sort_keys=True)
    steps = tuple(axis.step(level) for level in table.levels)
    return PlannedPart(part, axis.title, table, steps, purpose, axis.px_per_unit)


def render_blend(block: Block, cell: BlendCell) -> Rendered:
    """The glyphs of a block as a draw of a blend has them.

    Glyphs that drew the same levels are rendered together; a glyph looks the same
    whichever others are asked for.
    """
    from gen.render.engine import Rendered

    images = np.empty_like(block.nominal)
    lost = np.zeros(len(block.indices))
    for each, places in cell.groups(block.indices):
        rendered = block.part(places).render(each)
        images[places], lost[places] = rendered.images, rendered.ink_lost
    return Rendered(images, lost)
