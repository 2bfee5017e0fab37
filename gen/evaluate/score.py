"""Scoring a model with a recipe on a glyph set, block by block."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError, InkdriftError
from gen.evaluate.curves import make_curves
from gen.evaluate.model import Model, wrap_model
from gen.evaluate.results import Evaluation
from gen.evaluate.tally import Tally
from gen.glyphs.base import RasterGlyphs, StrokeGlyphs
from gen.recipe.model import Recipe
from gen.render.plan import Cell, Plan, make_plan

if TYPE_CHECKING:
    from collections.abc import Iterator

Whole = NDArray[np.intp]

FIRST_BATCH = 512
"""Glyphs of the first look, spread over the whole set."""

_NAMED = 10  # glyphs without ink that are named one by one before only their count is given


class Rendered(Protocol):
    """Pictures of one cell: `images` (n, H, W) uint8, `ink_lost` (n,) float64."""

    @property
    def images(self) -> NDArray[np.uint8]:
        """The pictures."""

    @property
    def ink_lost(self) -> NDArray[np.float64]:
        """Share of each glyph's ink that left the frame."""


class Block(Protocol):
    """Some glyphs, ready to be rendered in any cell."""

    def render(self, cell: Cell) -> Rendered:
        """Render one cell."""


class Renders(Protocol):
    """What makes blocks: `gen.render.engine.Renderer`, or a stand-in."""

    def block(self, indices: Whole) -> Block:
        """The glyphs at some indices."""


@dataclass
class Clock:
    """Wall time by kind of work."""

    spent: dict[str, float] = field(
        default_factory=lambda: {"rendering": 0.0, "model": 0.0, "statistics": 0.0}
    )

    @contextmanager
    def on(self, work: str) -> Iterator[None]:
        """Count the time inside to one kind of work."""
        start = time.perf_counter()
        try:
            yield
        finally:
            self.spent[work] += time.perf_counter() - start


def evaluate(
    model: object,
    recipe: Recipe,
    glyphs: RasterGlyphs | StrokeGlyphs,
    *,
    floor: float = 0.9,
    block: int = 512,
    progress: Callable[[int, int], None] | None = None,
) -> Evaluation:
    """Score a model at every level of a recipe.

    Parameters
    ----------
    model
        A `Model`, or anything that `wrap_model` takes.
    recipe
        What is done to the glyphs.
    glyphs
        Labelled glyphs. Those without ink at nominal are left out and named.
    floor
        The accuracy that a tolerance keeps, over 0 and at most 1.
    block
        Glyphs in hand at once; what the model is given in one batch.
    progress
        Called with (steps done, steps in all) after every batch.

    Returns
    -------
    Evaluation

    Raises
    ------
    ModelError
        If the model fails or its answers can't be read; the cell is named.
    LevelError
        If the frame can't hold a level.
    GlyphError
        If no glyph has ink.
    InkdriftError
        If the floor or the block makes no sense.

    Notes
    -----
    Memory holds one tally a cell and one block of pictures. A first look is had
    when the model hasn't been looked at with these classes yet.

    Examples
    --------
    A reader of two bars that was taught on pictures moved by a pixel:

    >>> from gen.glyphs.base import Provenance
    >>> from gen.recipe.model import Sweep
    >>> images = np.zeros((40, 6, 8), np.uint8)
    >>> images[::2, :, 1] = images[1::2, :, 5] = 255
    >>> glyphs = RasterGlyphs(frame=(6, 8), labels=np.arange(40) % 2, classes=("left", "right"),
    ...     provenance=Provenance("array", "bars", ""), writers=None, images=images)
    >>> recipe = Recipe("moves", "", 0, (Sweep("translation", "px", (1.0,), (("along", "x"),)),))
    >>> found = evaluate(lambda x: x[:, :, 6].any(axis=1).astype(int), recipe, glyphs)
    >>> found.baseline.accuracy.value, found.curves[0].peak.level, found.curves[0].peak.off_nominal
    (0.5, 1.0, True)
    """
    from gen.render.engine import Renderer

    plan = make_plan(recipe, glyphs.frame).sweeps_alone()
    return score_plan(
        wrap_model(model),
        plan,
        Renderer(plan, glyphs),
        glyphs,
        floor=floor,
        block=block,
        progress=progress,
    )


def score_plan(
    model: Model,
    plan: Plan,
    renderer: Renders,
    glyphs: RasterGlyphs | StrokeGlyphs,
    *,
    floor: float = 0.9,
    block: int = 512,
    progress: Callable[[int, int], None] | None = None,
) -> Evaluation:
    """Score a planned recipe with whatever renders it; see `evaluate`."""
    _check(floor, block)
    clock = Clock()
    if model.look is None or model.classes != glyphs.classes:
        _first_look(model, renderer, plan.cells[0], glyphs, clock)
    tallies = {cell: Tally(len(glyphs.classes)) for cell in plan.cells}
    blank: list[int] = []
    blocks = math.ceil(len(glyphs) / block)
    done, steps = 0, blocks * len(plan.cells)
    for start in range(0, len(glyphs), block):
        indices = np.arange(start, min(start + block, len(glyphs)), dtype=np.intp)
        indices, in_hand, nominal = _with_ink(renderer, plan.cells[0], indices, blank, clock)
        nominal_right = None
        for cell in plan.cells:
            if len(indices):
                with clock.on("rendering"):
                    rendered = nominal if cell == plan.cells[0] else in_hand.render(cell)
                with clock.on("model"):
                    answers = model.answer(rendered.images, cell=cell.name)
                with clock.on("statistics"):
                    right = tallies[cell].add(
                        answers,
                        glyphs.labels[indices],
                        ink_lost=rendered.ink_lost,
                        nominal_right=nominal_right,
                    )
                if nominal_right is None:
                    nominal_right = right
            done += 1
            if progress is not None:
                progress(done, steps)
    with clock.on("statistics"):
        baseline, curves = make_curves(plan, tallies, glyphs.classes, floor=floor)
    look = model.look
    assert look is not None, "there was a first look"
    nominal_tally = tallies[plan.cells[0]]
    return Evaluation(
        model=f"{model.name}: handed {look.expects}; gives {look.answers}",
        answers=look.answers,
        glyphs=_source(glyphs),
        glyphs_digest=glyphs.provenance.digest,
        recipe=plan.recipe.title,
        recipe_digest=plan.recipe.digest,
        classes=glyphs.classes,
        counts=tuple(nominal_tally.class_counts.tolist()),
        floor=floor,
        baseline=baseline,
        confusion=tuple(tuple(row) for row in nominal_tally.confusion.tolist()),
        curves=curves,
        left_out=(*plan.left_out, *_left_out(blank)),
        seconds=tuple(clock.spent.items()),
    )


def _source(glyphs: RasterGlyphs | StrokeGlyphs) -> str:
    came, (height, width) = glyphs.provenance, glyphs.frame
    place = "built-in strokes" if came.kind == "strokes" else f"{came.kind}: {came.name}"
    word = "glyph" if len(glyphs) == 1 else "glyphs"
    return f"{place}, {len(glyphs)} {word} of {height} x {width} px"


def _first_look(
    model: Model,
    renderer: Renders,
    nominal: Cell,
    glyphs: RasterGlyphs | StrokeGlyphs,
    clock: Clock,
) -> None:
    """A first batch spread over the set, since sets are often sorted by class."""
    count = min(FIRST_BATCH, len(glyphs))
    spread = np.arange(count, dtype=np.intp) * len(glyphs) // max(count, 1)
    indices, _, rendered = _with_ink(renderer, nominal, spread, [], clock)
    if not len(indices):
        spread = np.arange(len(glyphs), dtype=np.intp)
        indices, _, rendered = _with_ink(renderer, nominal, spread, [], clock)
    if not len(indices):
        raise GlyphError(
            glyphs.provenance.name,
            "there is no glyph with ink",
            got=f"{len(glyphs)} glyphs",
            hint="is the ink polarity right?",
        )
    with clock.on("model"):
        model.first_look(rendered.images, glyphs.labels[indices], glyphs.classes)


def _with_ink(
    renderer: Renders, nominal: Cell, indices: Whole, blank: list[int], clock: Clock
) -> tuple[Whole, Block, Rendered]:
    """A block without the glyphs that show no ink at nominal; those are noted."""
    with clock.on("rendering"):
        in_hand = renderer.block(indices)
        rendered = in_hand.render(nominal)
        inked = rendered.images.any(axis=(1, 2))
        if not inked.all():
            blank.extend(indices[~inked].tolist())
            indices = indices[inked]
            if len(indices):
                in_hand = renderer.block(indices)
                rendered = in_hand.render(nominal)
    return indices, in_hand, rendered


def _left_out(blank: list[int]) -> tuple[str, ...]:
    if not blank:
        return ()
    named = ", ".join(str(index) for index in blank[:_NAMED])
    more = f" and {len(blank) - _NAMED} more" if len(blank) > _NAMED else ""
    word = "glyph has" if len(blank) == 1 else "glyphs have"
    return (f"{len(blank)} {word} no ink at nominal and can't be scored: {named}{more}",)


def _check(floor: float, block: int) -> None:
    if isinstance(floor, bool) or not 0.0 < floor <= 1.0:
        raise InkdriftError("floor", "this is no accuracy", got=floor, allowed="over 0, at most 1")
    if isinstance(block, bool) or not isinstance(block, int) or block < 1:
        raise InkdriftError("block", "this is no number of glyphs", got=block, allowed="1 or more")
