"""Marks on which models part, in characters, for whoever has no screen but a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.evaluate.compared import Compared
from gen.report.compare_keys import KEYS
from gen.report.compare_pairs import place_words
from gen.report.compare_proof import Shot, shots
from gen.report.drawn import drawn
from gen.report.drawn_pairs import GAP, MOST_COLUMNS, side_by_side, without_margins
from gen.report.terminal import wrapped
from gen.report.words import quoted

if TYPE_CHECKING:
    from gen.report.compare_make import Comparison

MOST = 3
_LEAST_COLUMNS = 16


def parted_lines(comparison: Comparison, *, width: int, blocks: bool) -> list[str]:
    """A mark of each of the leading findings, side by side; nothing where there is none.

    Parameters
    ----------
    comparison
        What was compared.
    width
        Columns of the terminal, at least 40.
    blocks
        Whether block characters may be used.
    """
    found = [shots(said, comparison.compared, comparison.pictured) for said in comparison.findings]
    most = min(MOST, (width + GAP) // (_LEAST_COLUMNS + GAP))
    # One of each finding before there are two of any.
    few = [each[turn] for turn in range(MOST) for each in found if turn < len(each)][:most]
    if not few:
        return []
    columns = min(MOST_COLUMNS, (width - GAP * (len(few) - 1)) // len(few))
    return [
        *wrapped("Marks that one model reads and another doesn't:", width),
        "",
        *without_margins(
            side_by_side([drawn(shot.mark.image, columns, blocks) for shot in few], columns)
        ),
        "",
        *side_by_side([_caption(comparison.compared, shot, columns) for shot in few], columns),
    ]


def _caption(compared: Compared, shot: Shot, columns: int) -> list[str]:
    answers, cell = shot.mark.answers, shot.mark.cell
    where = "nominal" if cell == compared.cells[0].cell else place_words(compared, cell)
    told = [f"{KEYS[at]} reads {quoted(answers[at] or '')}" for at in (shot.first, shot.second)]
    return [line for words in (f"{where}:", *told) for line in wrapped(words, columns)]
