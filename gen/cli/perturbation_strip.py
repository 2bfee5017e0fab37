"""A mark at some levels of one perturbation: in characters, and as a picture."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from gen.cli.shown_levels import shown_levels
from gen.core.files import whole_file
from gen.glyphs.strokes import write_strokes
from gen.recipe.catalogue import Entry, Level, Unit
from gen.recipe.model import Recipe, Sweep
from gen.render.contact_sheet import contact_sheet, level_label
from gen.render.engine import Renderer
from gen.render.plan import make_plan
from gen.report.drawn import drawn
from gen.report.terminal import wrapped

GLYPH_COLUMNS = 18
"""Columns of a mark: fewer and its strokes run together."""
MARKS = "425"
"""What is shown: marks that no turn, mirror or swap leaves as they are."""
_GAP = 2


def strip_lines(entry: Entry, unit: Unit, *, width: int, blocks: bool) -> list[str]:
    """One mark at each level, side by side as far as there is room, the level underneath.

    Parameters
    ----------
    entry, unit
        What is shown, and in which unit.
    width
        Columns of the terminal.
    blocks
        Whether block characters may be used.
    """
    renderer = _renderer(entry, unit)
    sweep = renderer.plan.sweeps[0]
    block = renderer.block(np.array([0]))
    pictures = [
        drawn(block.render(cell).images[0], min(GLYPH_COLUMNS, width), blocks)
        for cell in sweep.cells
    ]
    labels = [_label(level, sweep.nominal) for level in sweep.levels]
    wide = max(len(pictures[0][0]), *map(len, labels))
    abreast = max(1, (width + _GAP) // (wide + _GAP))
    gap = " " * _GAP
    lines: list[str] = [*wrapped(f"{sweep.title}, {unit.name}:", width), ""]
    for start in range(0, len(pictures), abreast):
        if start:
            lines.append("")
        part = slice(start, start + abreast)
        for across in (*zip(*pictures[part], strict=True), labels[part]):
            lines.append(gap.join(f"{piece:<{wide}}" for piece in across).rstrip())
    return lines


def write_picture(entry: Entry, unit: Unit, file: Path) -> None:
    """Draw a few marks at each level, with the levels, into a PNG file.

    Raises
    ------
    OutputError
        If it can't be written.
    """
    from PIL import Image

    renderer = _renderer(entry, unit)
    sheet = contact_sheet(renderer, renderer.plan.sweeps[0], np.arange(len(MARKS)))
    with whole_file(file) as scratch:
        Image.fromarray(sheet).save(scratch, format="PNG")


def _renderer(entry: Entry, unit: Unit) -> Renderer:
    defaults = tuple(sorted((option.name, option.default) for option in entry.options))
    sweep = Sweep(entry.name, unit.name, shown_levels(entry, unit), defaults)
    glyphs = write_strokes(classes=tuple(MARKS), count=len(MARKS))
    return Renderer(make_plan(Recipe("", "", 0, (sweep,)), glyphs.frame), glyphs)


def _label(level: Level, nominal: Level) -> str:
    said = level_label(level, nominal)
    return f"{said}, nominal" if level == nominal else said
