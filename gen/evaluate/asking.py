"""Asking a model about every glyph in every cell, block by block."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError, ModelError
from gen.evaluate.first_look import FIRST_LOOK
from gen.evaluate.kept import KeptAnswers
from gen.evaluate.model import Model
from gen.evaluate.sheet import Record, Sheet
from gen.glyphs.base import Glyphs
from gen.glyphs.subset import spread_over
from gen.render.plan import Cell

Whole = NDArray[np.intp]
Pixels = NDArray[np.uint8]


class Rendered(Protocol):
    """Pictures of one cell: `images` (n, H, W) uint8, `ink_lost` (n,) float64."""

    @property
    def images(self) -> Pixels:
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


def first_batch(
    renderer: Renders, nominal: Cell, glyphs: Glyphs, clock: Clock
) -> tuple[Pixels, Whole]:
    """A few nominal glyphs with ink, spread over the set, since sets are often sorted by class.

    Returns
    -------
    (images, indices)

    Raises
    ------
    GlyphError
        If no glyph has ink.
    """
    for count in (FIRST_LOOK, len(glyphs)):
        spread = spread_over(len(glyphs), count)
        with clock.on("rendering"):
            images = renderer.block(spread).render(nominal).images
        inked = images.any(axis=(1, 2))
        if inked.any():
            return images[inked][:FIRST_LOOK], spread[inked][:FIRST_LOOK]
    raise GlyphError(
        glyphs.provenance.name,
        "there is no glyph with ink",
        got=f"{len(glyphs)} glyphs",
        hint="is the ink polarity right?",
    )


@dataclass
class Asking:
    """Fills an answer sheet.

    Attributes
    ----------
    model
        Looked at before.
    renderer
        Makes the pictures.
    glyphs
        What they are made of.
    sheet
        Takes the answers.
    clock
        Takes the time.
    kept
        Answers of an earlier run, which are read where there are any, and where new
        ones are kept; or None.
    """

    model: Model
    renderer: Renders
    glyphs: Glyphs
    sheet: Sheet
    clock: Clock
    kept: KeptAnswers | None = None

    def ask(
        self,
        cells: Sequence[Cell],
        *,
        block: int,
        progress: Callable[[int, int], None] | None = None,
    ) -> None:
        """Ask about every glyph in every cell; those without ink at nominal are left out.

        A cell in which the model fails, while it still answers at nominal, is noted as
        failed, and the others go on.

        Raises
        ------
        ModelError
            If the model fails at nominal, or no longer answers there.
        """
        steps = math.ceil(len(self.glyphs) / block) * len(cells)
        done = 0
        for start in range(0, len(self.glyphs), block):
            hand = _Hand(self, start, min(start + block, len(self.glyphs)), cells[0])
            for cell in cells:
                if cell.name not in self.sheet.failed:
                    hand.ask(cell)
                done += 1
                if progress is not None:
                    progress(done, steps)


class _Hand:
    """The block in hand: it is rendered only where no answer is kept."""

    def __init__(self, asking: Asking, start: int, stop: int, nominal: Cell) -> None:
        self._of = asking
        self._start, self._stop, self._nominal = start, stop, nominal
        self._rendered: tuple[NDArray[np.bool_], Block, Rendered] | None = None

    def ask(self, cell: Cell) -> None:
        of = self._of
        with of.clock.on("statistics"):
            known = of.kept.read(cell, self._start, self._stop) if of.kept else None
            if known is not None:
                self._write_down(cell, *known)
                return
        inked, block, nominal = self._in_hand()
        record = None
        if inked.any():
            with of.clock.on("rendering"):
                rendered = nominal if cell == self._nominal else block.render(cell)
            record = self._answers(cell, rendered, inked)
            if record is None:
                return
        with of.clock.on("statistics"):
            record = record or Record(np.empty(0, np.int16), None, np.empty(0))
            self._write_down(cell, inked, record)
            if of.kept:
                of.kept.write(cell, self._start, inked, record)

    def _answers(self, cell: Cell, rendered: Rendered, inked: NDArray[np.bool_]) -> Record | None:
        of = self._of
        indices = self._start + np.flatnonzero(inked)
        try:
            with of.clock.on("model"):
                answers = of.model.answer(rendered.images, cell=cell.name)
        except ModelError as error:
            if cell == self._nominal:
                raise
            # What still answers at nominal has failed in this cell alone.
            with of.clock.on("model"):
                after = f"nominal, asked again after {cell.name} failed"
                of.model.answer(self._in_hand()[2].images, cell=after)
            why = error.fact if error.got is None else f"{error.fact}: {error.got}"
            of.sheet.fail(cell.name, " ".join(str(why).split()))
            return None
        with of.clock.on("statistics"):
            return Record.of(answers, of.glyphs.labels[indices], rendered.ink_lost)

    def _write_down(self, cell: Cell, inked: NDArray[np.bool_], record: Record) -> None:
        if cell == self._nominal:
            self._of.sheet.leave_out(self._start + np.flatnonzero(~inked))
        self._of.sheet.put(cell.name, self._start + np.flatnonzero(inked), record)

    def _in_hand(self) -> tuple[NDArray[np.bool_], Block, Rendered]:
        """Which glyphs of the block have ink, and those, rendered at nominal."""
        if self._rendered is None:
            with self._of.clock.on("rendering"):
                indices = np.arange(self._start, self._stop, dtype=np.intp)
                block = self._of.renderer.block(indices)
                nominal = block.render(self._nominal)
                inked = np.asarray(nominal.images.any(axis=(1, 2)))
                if not inked.all() and inked.any():
                    block = self._of.renderer.block(indices[inked])
                    nominal = block.render(self._nominal)
                self._rendered = inked, block, nominal
        return self._rendered
