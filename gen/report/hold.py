"""One call for a test: a model is held to what a recipe requires."""

from __future__ import annotations

import os
from typing import Any

from gen.core.errors import RecipeError
from gen.glyphs.base import RasterGlyphs, StrokeGlyphs
from gen.recipe.model import Recipe
from gen.report.kept_or_missed import account
from gen.report.make import make_report
from gen.report.object import Report


class RequirementMissed(AssertionError):  # noqa: N818 - what it says, as a test shows it
    """A model misses what a recipe requires; the text lists each with its evidence.

    It is an assertion that failed, and no `InkdriftError`: nothing that was given is
    wrong, and a caller who catches bad input must not catch this with it.

    Attributes
    ----------
    report
        The whole report, to save or look into.

    Examples
    --------
    >>> issubclass(RequirementMissed, AssertionError)
    True
    """

    report: Report


def hold_to(
    model: object,
    recipe: Recipe | str | os.PathLike[str],
    glyphs: RasterGlyphs | StrokeGlyphs,
    **options: Any,
) -> Report:
    """Score a model and raise unless it keeps everything that the recipe requires.

    Parameters
    ----------
    model
        What `load_model` gives, or any function or object that answers for pictures.
    recipe
        With requirements; a recipe as read, the path of one, or the name of one that ships.
    glyphs
        Labelled glyphs, (H, W) px each.
    options
        As `make_report` takes them: `floor`, `interval`, `extras`, `keep` and others.

    Returns
    -------
    Report
        When all requirements are kept.

    Raises
    ------
    RequirementMissed
        When one is missed. In pytest the failure shows the line of the test that called,
        and under it every requirement with its evidence.
    RecipeError
        If the recipe can't be read, or requires nothing: such a test could never fail.
    InkdriftError
        As `make_report`.

    Examples
    --------
    >>> from gen import parse_recipe, write_strokes
    >>> recipe = parse_recipe('''
    ... title = "Build gate"
    ... [[require]]
    ... nominal = true
    ... keeps = 0.9
    ... ''')
    >>> always_three = lambda pictures: [3] * len(pictures)
    >>> try:
    ...     hold_to(always_three, recipe, write_strokes(count=50))
    ... except RequirementMissed as missed:
    ...     print(str(missed).splitlines()[0])
    1 of 1 requirement missed, of the recipe "Build gate"
    """
    __tracebackhide__ = True  # pytest then shows the caller's line, not this one
    if not isinstance(recipe, Recipe):
        from gen.perturb.recipes import read_recipe

        recipe = read_recipe(recipe)
    if not recipe.requirements:
        raise RecipeError(
            f'recipe "{recipe.title}"',
            "it requires nothing, so no model could miss it",
            hint="[[require]]",
        )
    report = make_report(model, recipe, glyphs, **options)
    if all(part.kept for part in report.evaluation.requirements):
        return report
    missed = RequirementMissed(account(report.evaluation))
    missed.report = report
    raise missed
