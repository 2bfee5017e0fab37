"""From a model, a recipe and some glyphs to a report, in one call."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from gen.evaluate.score import score
from gen.glyphs.base import RasterGlyphs, StrokeGlyphs
from gen.recipe.model import Recipe
from gen.render.plan import make_plan
from gen.report.object import Report
from gen.report.run import RunInfo
from gen.report.showing import shown_of


def make_report(
    model: object,
    recipe: Recipe,
    glyphs: RasterGlyphs | StrokeGlyphs,
    *,
    floor: float = 0.9,
    interval: str = "wilson",
    extras: bool = True,
    keep: Path | None = None,
    afresh: bool = False,
    command: str = "",
    progress: Callable[[int, int], None] | None = None,
) -> Report:
    """Score a model at every level of a recipe and say what that shows.

    Parameters
    ----------
    model
        What `load_model` gives, or any function or object that answers for
        pictures: see `gen.evaluate.model.wrap_model`.
    recipe
        What is done to the glyphs.
    glyphs
        Labelled glyphs, (H, W) px each.
    floor
        The accuracy that a tolerance keeps, over 0 and at most 1.
    interval
        Of shares: "wilson", or "clopper-pearson", which never covers less than 95 %.
    extras
        Whether the model is also asked about marks of no class, and whether it answers
        a glyph alike when it is asked again.
    keep
        Folder in which answers are kept and looked for, so that a model whose file has
        not changed is asked nothing twice; None to keep nothing.
    afresh
        Whether answers that are kept are forgotten first.
    command
        How it was run, for the report to repeat.
    progress
        Called with batches done and batches in all.

    Returns
    -------
    Report
        `str` of it is the summary; `save` writes page, JSON and CSV.

    Raises
    ------
    ModelError
        If the model fails at nominal or its answers can't be read.
    LevelError
        If a level can't be held by the glyphs' frame.
    GlyphError
        If no glyph has ink.

    Examples
    --------
    A model that knows nothing but where the ink is: left half or right half.

    >>> import numpy as np
    >>> from gen import load_glyphs, parse_recipe
    >>> images = np.zeros((40, 8, 8), np.uint8)
    >>> images[::2, 3:5, 1:3] = images[1::2, 3:5, 5:7] = 255
    >>> glyphs = load_glyphs(images, labels=[0, 1] * 20, classes=("left", "right"))
    >>> recipe = parse_recipe('''
    ... title = "Sagging mount"
    ... [[sweep]]
    ... perturbation = "translation"
    ... unit = "px"
    ... along = "x"
    ... levels = { from = -4, to = 4, step = 1 }
    ... ''')
    >>> def side(pictures):
    ...     left, right = pictures[:, :, :4], pictures[:, :, 4:]
    ...     return (right.sum(axis=(1, 2)) > left.sum(axis=(1, 2))).astype(int)
    >>> report = make_report(side, recipe, glyphs)
    >>> curve = report.evaluation.curves[0]
    >>> f"{curve.tolerance.low:.1f} to {curve.tolerance.high:.1f} px"
    '-1.2 to 2.1 px'
    """
    scored = score(
        model,
        recipe,
        glyphs,
        floor=floor,
        interval=interval,
        extras=extras,
        keep=keep,
        afresh=afresh,
        progress=progress,
    )
    plan = make_plan(recipe, glyphs.frame)
    return Report(
        scored.evaluation,
        shown=shown_of(plan, glyphs, scored.evaluation, scored.sheet),
        run=RunInfo(command=command, recipe_text=recipe.text),
        sheet=scored.sheet,
        notes=scored.notes,
    )
