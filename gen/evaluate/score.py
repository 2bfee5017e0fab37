"""Scoring a model with a recipe on a glyph set: asking, then statistics."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import InkdriftError
from gen.evaluate import forecast, hidden
from gen.evaluate.asking import Asking, Clock, first_batch
from gen.evaluate.behaviour import behaviour
from gen.evaluate.bootstrap import DRAWS
from gen.evaluate.foreign import ask_foreign
from gen.evaluate.intervals import interval_of
from gen.evaluate.kept import KeptAnswers
from gen.evaluate.model import Model, wrap_model
from gen.evaluate.requirements import judge
from gen.evaluate.results import Behaviour, Evaluation, ForeignMarks
from gen.evaluate.scored import Asked, Statistics
from gen.evaluate.shares import Shares
from gen.evaluate.sheet import Record, Sheet
from gen.glyphs.base import RasterGlyphs, StrokeGlyphs
from gen.recipe.model import Recipe
from gen.render.plan import make_plan

Whole = NDArray[np.intp]

_NAMED = 10  # glyphs without ink that are named one by one before only their count is given


@dataclass(frozen=True)
class Scored:
    """An evaluation with the answers that it rests on.

    Attributes
    ----------
    evaluation
        What the answers show.
    sheet
        What the model said to every glyph in every cell.
    notes
        What happened on the way, a line each: answers that were kept from an earlier
        run, or could not be kept; without extras also a batch that had to be halved.
    """

    evaluation: Evaluation
    sheet: Sheet
    notes: tuple[str, ...] = ()


def evaluate(
    model: object,
    recipe: Recipe,
    glyphs: RasterGlyphs | StrokeGlyphs,
    *,
    floor: float = 0.9,
    interval: str = "wilson",
    block: int = 512,
    draws: int = DRAWS,
    extras: bool = True,
    keep: Path | None = None,
    afresh: bool = False,
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
    interval
        Of shares: "wilson", or "clopper-pearson", which never covers less than 95 %.
    block
        Glyphs in hand at once; what the model is given in one batch.
    draws
        Of the bootstrap.
    extras
        Whether the model is also asked about marks of no class, and whether it answers
        a glyph alike when it is asked again.
    keep
        Folder in which answers are kept and looked for, of models that come from a
        file; None to keep nothing. See `gen.evaluate.kept`.
    afresh
        Whether answers that are kept are forgotten first.
    progress
        Called with (steps done, steps in all) after every batch.

    Returns
    -------
    Evaluation

    Raises
    ------
    ModelError
        If the model fails at nominal or its answers can't be read. Where it fails in
        another cell, that cell is left out and listed under `failed`.
    LevelError
        If the frame can't hold a level.
    GlyphError
        If no glyph has ink.
    InkdriftError
        If the floor or the block makes no sense.

    Notes
    -----
    Memory holds one block of pictures and 14 bytes a glyph and cell. A first look is
    had when the model hasn't been looked at with these classes yet.

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
    return score(
        model,
        recipe,
        glyphs,
        floor=floor,
        interval=interval,
        block=block,
        draws=draws,
        extras=extras,
        keep=keep,
        afresh=afresh,
        progress=progress,
    ).evaluation


def score(
    model: object,
    recipe: Recipe,
    glyphs: RasterGlyphs | StrokeGlyphs,
    *,
    floor: float = 0.9,
    interval: str = "wilson",
    block: int = 512,
    draws: int = DRAWS,
    extras: bool = True,
    keep: Path | None = None,
    afresh: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> Scored:
    """Score a model and keep every answer; see `evaluate`."""
    from gen.render.engine import Renderer

    _check(floor, block)
    interval_of(interval)  # refuses an unknown one before anything slow
    plan = make_plan(recipe, glyphs.frame)
    asked = wrap_model(model)
    renderer, clock = Renderer(plan, glyphs), Clock()
    images, indices = first_batch(renderer, plan.cells[0], glyphs, clock)
    with clock.on("model"):
        if asked.look is None or asked.classes != glyphs.classes:
            asked.first_look(images, glyphs.labels[indices], glyphs.classes)
        behaved = behaviour(asked, images) if extras else None
    blends = tuple((each, forecast.part_cells(each, plan.cells[0])) for each in plan.blends)
    with clock.on("rendering"):
        variances = hidden.hidden_variance_px2(plan, glyphs)
    probes = hidden.probe_cells(plan, variances)
    extra = [cell for _, parts in blends for part in parts for cell in (part.alone, part.without)]
    cells = tuple(dict.fromkeys((*plan.cells, *extra, *probes)))
    sheet = Sheet(
        [cell.name for cell in cells],
        glyphs.labels,
        writers=glyphs.writers,
        classes=glyphs.classes,
    )
    kept = _kept(keep, asked, glyphs, recipe.seed, behaved)
    if kept is not None and afresh:
        kept.forget()
    if kept is not None and (before := kept.some(plan.cells[0], indices)) is not None:
        places, known = before
        with clock.on("model"):
            answers = asked.answer(images[places], cell="first look")
        labels = glyphs.labels[indices[places]]
        if not known.agrees(Record.of(answers, labels, np.zeros(len(labels)))):
            kept.clear()
    asking = Asking(asked, renderer, glyphs, sheet, clock, kept)
    asking.ask(cells, block=block, progress=progress)
    foreign: tuple[ForeignMarks, ...] = ()
    declining = None
    if extras:
        with clock.on("model"):
            foreign, declining = ask_foreign(
                asked,
                glyphs,
                sheet.row(plan.cells[0].name),
                seed=recipe.seed,
                shares=Shares.knowing(sheet.writers, interval),
            )
    with clock.on("statistics"):
        asked_for = Asked(plan, blends, probes, variances)
        evaluation = Statistics(asked_for, sheet, glyphs, floor, interval, draws).evaluation()
    look = asked.look
    assert look is not None, "there was a first look"
    evaluation = replace(
        evaluation,
        requirements=judge(recipe, evaluation),
        model=f"{asked.name}: handed {look.expects}; gives {look.answers}",
        answers=look.answers,
        left_out=(*plan.left_out, *_left_out(np.flatnonzero(~sheet.scored).tolist())),
        seconds=tuple(clock.spent.items()),
        foreign=foreign,
        declining=declining,
        behaviour=behaved and replace(behaved, notes=(*behaved.notes, *asked.notes)),
    )
    notes = [*(kept.notes if kept is not None else ())]
    if behaved is None:  # else they stand beside how the model behaved
        notes += asked.notes
    return Scored(evaluation, sheet, tuple(notes))


def _kept(
    keep: Path | None,
    model: Model,
    glyphs: RasterGlyphs | StrokeGlyphs,
    seed: int,
    behaved: Behaviour | None,
) -> KeptAnswers | None:
    """Where answers are kept: nowhere for a model without a file, or whose answers change."""
    if keep is None or model.fingerprint is None or (behaved is not None and behaved.again):
        return None
    kept = KeptAnswers(keep, fingerprint=model.fingerprint, glyphs=glyphs, seed=seed)
    kept.start()
    return kept


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
