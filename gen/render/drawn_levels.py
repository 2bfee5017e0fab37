"""What each glyph drew, as a table beside the pictures of a draw."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.recipe.lengths import as_px
from gen.recipe.model import Ruler
from gen.render.plan import BlendCell, Cell

_BLOCK = 65_536


def levels_name(cell: Cell) -> tuple[str, ...]:
    """The name of the table of a draw; nothing for cells that are alike for all glyphs."""
    return (f"{cell.name}-levels.csv",) if isinstance(cell, BlendCell) else ()


def write_levels(cell: Cell, ruler: Ruler, count: int, folder: Path) -> None:
    """Write the table of a draw; nothing for cells that are alike for all glyphs.

    Parameters
    ----------
    cell
        Which.
    ruler
        What tells lengths on paper in px.
    count
        How many glyphs there are.
    folder
        Where to: ``<cell>-levels.csv``, a row a glyph, a column a part, and one more
        with px where the part is in another unit of length.
    """
    if not isinstance(cell, BlendCell):
        return
    columns = [
        (number, heading, words)
        for number, part in enumerate(cell.parts)
        for heading, words in _columns(part.title, part.part.unit, part.chances.levels, ruler)
    ]
    with (folder / levels_name(cell)[0]).open("w", encoding="utf-8", newline="") as stream:
        rows = csv.writer(stream, lineterminator="\n")
        rows.writerow(["glyph", *(heading for _, heading, _ in columns)])
        for start in range(0, count, _BLOCK):
            indices = np.arange(start, min(start + _BLOCK, count))
            places = cell.drawn(indices).places
            told = [words[places[:, number]].tolist() for number, _, words in columns]
            rows.writerows(zip(indices.tolist(), *told, strict=True))


def _columns(
    title: str, unit: str, levels: tuple[float | str, ...], ruler: Ruler
) -> list[tuple[str, NDArray[np.str_]]]:
    own = [(f"{title} ({unit})", np.array([str(level) for level in levels]))]
    told = [as_px(level, unit, ruler) for level in levels]
    if told[0][1] != unit:
        own.append((f"{title} ({told[0][1]})", np.array([str(level) for level, _ in told])))
    return own


def clipped_draws(cell: Cell, count: int) -> dict[str, Any]:
    """How many glyphs drew a level outside the range, a number a part; empty for other cells."""
    if not isinstance(cell, BlendCell):
        return {}
    total = np.zeros(len(cell.parts), np.int64)
    for start in range(0, count, _BLOCK):
        indices = np.arange(start, min(start + _BLOCK, count))
        total += cell.drawn(indices).clipped.sum(axis=0)
    return {"clipped": [int(number) for number in total]}
