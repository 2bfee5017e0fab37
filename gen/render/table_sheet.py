"""Pictures of grids and blends: rows and columns of marks, labelled on both sides."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gen.glyphs.base import Pixels, Whole
from gen.render.contact_sheet import EDGE, PAPER, lay, level_label
from gen.render.engine import Renderer
from gen.render.lettering import text_size, write
from gen.render.plan import NOMINAL, PlannedBlend, PlannedGrid, PlannedSweep

MOST_DRAWS_SHOWN = 10
_GLYPH_PX = 56
_GAP = 8
_LETTER_PX = 9.0
_TITLE_PX = 12.0


def grid_sheet(renderer: Renderer, grid: PlannedGrid, glyph: int) -> Pixels:
    """One glyph at every pair of levels of a grid.

    Parameters
    ----------
    renderer
        With the plan that the grid is of.
    grid
        Which grid.
    glyph
        Index of the glyph to show.

    Returns
    -------
    ndarray of shape (height, width), uint8: a grey picture, dark ink on white paper.
    """
    block = renderer.block(np.array([glyph]))
    images = [[block.render(cell).images[0] for cell in row] for row in grid.cells]
    return _table(
        images,
        title=[f"down: {_said(grid.down)}", f"across: {_said(grid.across)}"],
        rows=[level_label(level, grid.down.nominal) for level in grid.down.levels],
        columns=[level_label(level, grid.across.nominal) for level in grid.across.levels],
    )


def blend_sheet(renderer: Renderer, blend: PlannedBlend, glyphs: Whole) -> Pixels:
    """Some glyphs as they are, and as the first draws of a blend have them.

    Parameters
    ----------
    renderer
        With the plan that the blend is of.
    blend
        Which blend.
    glyphs
        Indices of the glyphs to show.

    Returns
    -------
    ndarray of shape (height, width), uint8: a grey picture, dark ink on white paper.
    """
    block = renderer.block(glyphs)
    cells = blend.cells[:MOST_DRAWS_SHOWN]
    columns = [block.render(cell).images for cell in (NOMINAL, *cells)]
    return _table(
        [list(row) for row in zip(*columns, strict=True)],
        title=[f"blend: {blend.blend.title}"],
        rows=[""] * len(glyphs),
        columns=["as is", *(f"draw {cell.draw + 1}" for cell in cells)],
    )


def _said(side: PlannedSweep) -> str:
    return f"{side.title}, {side.sweep.unit}"


def _table(
    images: Sequence[Sequence[Pixels]], *, title: list[str], rows: list[str], columns: list[str]
) -> Pixels:
    """Marks in rows and columns, with a label before each row and above each column."""
    height, width = images[0][0].shape
    zoom = max(1, round(_GLYPH_PX / max(height, width)))
    tall, wide = height * zoom, width * zoom
    line_px = text_size("M", _LETTER_PX)[0]
    before = max(text_size(label, _LETTER_PX)[1] if label else 0 for label in rows)
    left = _GAP + (before + _GAP if before else 0)
    column = max(wide, *(text_size(label, _LETTER_PX)[1] for label in columns)) + _GAP
    headings = [write(line, _TITLE_PX) for line in title]
    labels_at = sum(heading.shape[0] for heading in headings) + _GAP
    top = labels_at + line_px + _GAP
    sheet = np.full(
        (
            top + len(rows) * (tall + _GAP),
            max(
                left + column * len(columns),
                max(heading.shape[1] for heading in headings) + 2 * _GAP,
            ),
        ),
        PAPER,
        np.uint8,
    )
    y = _GAP
    for heading in headings:
        lay(sheet, heading, y, _GAP)
        y += heading.shape[0]
    for place, label in enumerate(columns):
        lay(sheet, write(label, _LETTER_PX), labels_at, left + place * column)
    for line, (label, row) in enumerate(zip(rows, images, strict=True)):
        y = top + line * (tall + _GAP)
        if label:
            lay(sheet, write(label, _LETTER_PX), y + (tall - line_px) // 2, _GAP)
        for place, image in enumerate(row):
            x = left + place * column
            sheet[y - 1 : y + tall + 1, x - 1 : x + wide + 1] = EDGE
            sheet[y : y + tall, x : x + wide] = PAPER - image.repeat(zoom, 0).repeat(zoom, 1)
    return sheet
