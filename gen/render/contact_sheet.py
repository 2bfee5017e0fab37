"""One picture a sweep: levels across, glyphs down, every level labelled."""

from __future__ import annotations

import textwrap

import numpy as np

from gen.glyphs.base import Glyphs, Pixels, Whole
from gen.recipe.model import Level
from gen.render.engine import Renderer
from gen.render.lettering import text_size, write
from gen.render.plan import PlannedSweep

PAPER, EDGE = 255, 205
_GLYPH_PX = 56
_GAP = 8
_LETTER_PX = 9.0
_TITLE_PX = 12.0
_LABEL_CHARACTERS = 11


def chosen_glyphs(glyphs: Glyphs, rows: int = 8) -> Whole:
    """The first glyph of each class, as many as there are rows; then the second of each."""
    order: list[int] = []
    by_class = [np.flatnonzero(glyphs.labels == c) for c in range(len(glyphs.classes))]
    for turn in range(rows):
        for members in by_class:
            if turn < len(members) and len(order) < rows:
                order.append(int(members[turn]))
    return np.array(sorted(order), dtype=np.intp)


def level_label(level: Level, nominal: Level) -> str:
    """A level in a few characters, signed where nominal is zero."""
    if isinstance(level, str):
        return level
    return f"{level:+g}" if nominal == 0 and level != 0 else f"{level:g}"


def contact_sheet(renderer: Renderer, sweep: PlannedSweep, rows: Whole) -> Pixels:
    """Draw the sheet of one sweep.

    Parameters
    ----------
    renderer
        With the plan that the sweep is of.
    sweep
        Which sweep.
    rows
        Indices of the glyphs to show.

    Returns
    -------
    ndarray of shape (height, width), uint8: a grey picture, dark ink on white paper.
    """
    height, width = renderer.plan.frame
    zoom = max(1, round(_GLYPH_PX / max(height, width)))
    tall, wide = height * zoom, width * zoom
    labels = [
        textwrap.wrap(level_label(level, sweep.nominal), _LABEL_CHARACTERS)
        for level in sweep.levels
    ]
    line_px, _ = text_size("M", _LETTER_PX)
    widest = max(text_size(line, _LETTER_PX)[1] for label in labels for line in label)
    column = max(wide, widest) + _GAP
    heading = f"{sweep.title}, {sweep.sweep.unit}"
    title = write(heading, _TITLE_PX)
    label_px = line_px * max(len(label) for label in labels)
    top = title.shape[0] + label_px + 2 * _GAP
    sheet = np.full(
        (
            top + len(rows) * (tall + _GAP),
            max(_GAP + column * len(labels), title.shape[1] + 2 * _GAP),
        ),
        PAPER,
        np.uint8,
    )
    lay(sheet, title, _GAP, _GAP)
    block = renderer.block(rows)
    for place, (label, cell) in enumerate(zip(labels, sweep.cells, strict=True)):
        left = _GAP + place * column
        for line, words in enumerate(label):
            letters = write(words, _LETTER_PX)
            lay(sheet, letters, title.shape[0] + _GAP + line * line_px, left)
        for row, image in enumerate(block.render(cell).images):
            y = top + row * (tall + _GAP)
            sheet[y - 1 : y + tall + 1, left - 1 : left + wide + 1] = EDGE
            sheet[y : y + tall, left : left + wide] = PAPER - image.repeat(zoom, 0).repeat(zoom, 1)
    return sheet


def lay(sheet: Pixels, ink: Pixels, y: int, x: int) -> None:
    """Write on a sheet, as far as it reaches."""
    part = sheet[y : y + ink.shape[0], x : x + ink.shape[1]]
    np.minimum(part, PAPER - ink, out=part)
