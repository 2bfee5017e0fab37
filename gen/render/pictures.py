"""Rendered pictures in memory, for those who work in Python."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gen.glyphs.base import Glyphs, Pixels, Whole
from gen.recipe.model import Recipe
from gen.render.engine import Rendered, Renderer
from gen.render.plan import Cell, Plan, make_plan


def nominal_pictures(glyphs: Glyphs, indices: Whole | None = None) -> Pixels:
    """The glyphs as they are, strokes drawn.

    Parameters
    ----------
    glyphs
        Strokes or pictures.
    indices
        Which of them, ndarray of shape (n,); all when left out.

    Returns
    -------
    ndarray of shape (n, H, W), uint8, ink bright.

    Examples
    --------
    >>> from gen import write_strokes
    >>> nominal_pictures(write_strokes(count=20)).shape
    (20, 28, 28)
    """
    few = np.arange(len(glyphs)) if indices is None else np.asarray(indices, dtype=np.intp)
    return Renderer(Plan.nominal_only(glyphs.frame), glyphs).block(few).nominal


def render_cells(
    recipe: Recipe, glyphs: Glyphs, indices: Whole | None = None
) -> Iterator[tuple[Cell, Rendered]]:
    """Every cell of a recipe in turn, nominal first.

    Parameters
    ----------
    recipe
        What to render.
    glyphs
        Strokes or pictures.
    indices
        Which of them, ndarray of shape (n,); all when left out.

    Yields
    ------
    Cell, Rendered
        The cell, and its `images`, ndarray of shape (n, H, W), uint8, with `ink_lost`, the
        share of each glyph's ink that left the frame.

    Raises
    ------
    LevelError
        If a level can't be held by the glyphs' frame.

    Examples
    --------
    >>> from gen import parse_recipe, write_strokes
    >>> recipe = parse_recipe('''
    ... title = "Drifting focus"
    ... [[sweep]]
    ... perturbation = "blur"
    ... unit = "px"
    ... levels = [1, 2]
    ... ''')
    >>> for cell, rendered in render_cells(recipe, write_strokes(count=10)):
    ...     print(cell.name, rendered.images.shape)
    nominal (10, 28, 28)
    01-blur+1px (10, 28, 28)
    01-blur+2px (10, 28, 28)
    """
    plan = make_plan(recipe, glyphs.frame)
    few = np.arange(len(glyphs)) if indices is None else np.asarray(indices, dtype=np.intp)
    block = Renderer(plan, glyphs).block(few)
    for cell in plan.cells:
        yield cell, block.render(cell)
