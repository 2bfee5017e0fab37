"""The part of a comparison's page that shows sweeps: every model's curve, and marks under it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from gen.evaluate.compared import ComparedSweep
from gen.report.album import Album
from gen.report.axis_words import axis_words
from gen.report.compare_chart import chart, framed
from gen.report.compare_figures import figures
from gen.report.compare_findings import MOST_PAIRS
from gen.report.compare_keys import KEYS, legend
from gen.report.compare_pictures import Pictured, ReadMark
from gen.report.compare_proof import parted_in
from gen.report.compare_words import between, mean_words
from gen.report.markup import esc, table
from gen.report.names import isolated
from gen.report.typeset import typeset
from gen.report.words import amount, quoted

if TYPE_CHECKING:
    from gen.report.compare_make import Comparison

_STRIP = (
    "Under each axis stands one mark as it is at these levels, and under that what each model "
    "takes it for; what is wrong is heavy and underlined."
)


def sweeps(comparison: Comparison, pictured: Pictured, album: Album) -> str:
    """A chart of each sweep with its figures; nothing where there is no sweep."""
    compared = comparison.compared
    if not compared.sweeps:
        return ""
    parts = "".join(
        _sweep(comparison, sweep, f"sweep-{number}", pictured, album)
        for number, sweep in enumerate(compared.sweeps, 1)
    )
    hint = f'<p class="hint">{_STRIP}</p>' if pictured.marks else ""
    return (
        '<section id="sweeps" aria-labelledby="sweeps-h"><h2 id="sweeps-h">Each sweep</h2>'
        f"{hint}{parts}</section>"
    )


def _sweep(
    comparison: Comparison, sweep: ComparedSweep, ident: str, pictured: Pictured, album: Album
) -> str:
    compared, names = comparison.compared, comparison.names
    side = sweep.of.side
    strip = pictured.through(compared, sweep.of.cells)
    drawn = chart(compared, sweep, names, ident=ident, strip=strip, album=album)
    places = [
        (amount(side, level), cell) for level, cell in zip(side.levels, sweep.of.cells, strict=True)
    ]
    return (
        f'<article class="sweep" id="{ident}" aria-labelledby="{ident}-h">'
        f'<header><h3 id="{ident}-h">{esc(side.title)}</h3>'
        f"<p>{esc(axis_words(framed(sweep)))}</p></header>"
        f'<div class="body"><figure>{drawn}</figure>'
        f'<div class="side">{legend(names)}{_notes(sweep, names, compared.tests)}'
        f"{parted_in(sweep, compared, pictured, album)}</div></div>"
        "<details><summary>Figures of this sweep</summary>"
        f"{figures(comparison, side.title, 'Level', places, ident=f'{ident}-table')}"
        f"{_read(sweep, strip)}</details></article>"
    )


def _notes(sweep: ComparedSweep, names: Sequence[str], tests: int) -> str:
    notes = "".join(
        f'<p class="note fact">{KEYS[pair.first]} and {KEYS[pair.second]}: '
        f"{_text(between(pair, sweep.of.side, names, tests))}. Mean difference "
        f"{_text(mean_words(pair.mean))}.</p>"
        for pair in sweep.pairs
    )
    if len(sweep.pairs) > MOST_PAIRS:
        return f"<details><summary>All {len(sweep.pairs)} pairs</summary>{notes}</details>"
    return notes


def _read(sweep: ComparedSweep, strip: Sequence[ReadMark]) -> str:
    """What stands under the axis, as a table."""
    if not strip:
        return ""
    side = sweep.of.side
    rows = [
        (
            typeset(amount(side, level)),
            *("no answer" if one is None else isolated(one) for one in mark.answers),
        )
        for level, mark in zip(side.levels, strip, strict=True)
    ]
    caption = f"What {quoted(strip[0].true)} is read as: {side.title}"
    told = table(caption, ("Level", *KEYS[: len(strip[0].answers)]), rows)
    return f'<div class="read-as">{told}</div>'


def _text(words: str) -> str:
    return esc(typeset(words))
