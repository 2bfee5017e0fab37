"""The part of a comparison's page that shows blends: what to expect of each model."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.evaluate.compared import ComparedBlend, PairDifference, PairOverBlend
from gen.evaluate.winning import winner
from gen.report.album import Album
from gen.report.compare_figures import figures
from gen.report.compare_findings import MOST_PAIRS
from gen.report.compare_keys import KEYS, legend
from gen.report.compare_pictures import Pictured
from gen.report.compare_proof import parted_of
from gen.report.compare_rows import expected
from gen.report.compare_words import alike, difference_words, mean_words
from gen.report.markup import esc, table
from gen.report.typeset import typeset
from gen.report.words import count, interval_words

if TYPE_CHECKING:
    from gen.report.compare_make import Comparison

_HINT = (
    "Several changes at once, as often and as far as the recipe says that they happen; every "
    "model was shown the same draws. What is tested is the first draw of each mark, since further "
    "draws of it are no further marks."
)


def blends(comparison: Comparison, pictured: Pictured, album: Album) -> str:
    """What to expect of each model in each blend; nothing where there is no blend."""
    parts = "".join(
        _blend(comparison, blend, f"blend-{number}", pictured, album)
        for number, blend in enumerate(comparison.compared.blends, 1)
    )
    if not parts:
        return ""
    return (
        '<section id="blends" aria-labelledby="blends-h"><h2 id="blends-h">What to expect</h2>'
        f'<p class="hint">{_HINT}</p>{parts}</section>'
    )


def _blend(
    comparison: Comparison, blend: ComparedBlend, ident: str, pictured: Pictured, album: Album
) -> str:
    of, first = blend.of, blend.of.cells[0]
    draws = "once" if len(of.cells) == 1 else f"{count(len(of.cells))} times"
    told = [
        (key, "no answers" if share is None else interval_words(share))
        for key, share in zip(KEYS, blend.accuracies, strict=False)
    ]
    says = "; ".join(f"{key} {words}" for key, words in told)
    drawn = expected(
        blend.accuracies, ident=ident, title=f"Accuracy to expect: {of.title}", says=typeset(says)
    )
    held = {(d.first, d.second): d for d in comparison.compared.cell(first).differences}
    pairs = [_pair(comparison, pair, held.get((pair.first, pair.second))) for pair in blend.pairs]
    notes = "".join(f'<p class="note fact">{_text(words)}</p>' for words in pairs)
    if len(pairs) > MOST_PAIRS:
        notes = f"<details><summary>All {len(pairs)} pairs</summary>{notes}</details>"
    tables = table(f"All draws: {of.title}", ("Model", "Accuracy, 95 % interval"), told) + figures(
        comparison, of.title, "Draw", [("first", first)], ident=f"{ident}-table"
    )
    return (
        f'<article class="blend sweep" id="{ident}" aria-labelledby="{ident}-h"><header>'
        f'<h3 id="{ident}-h">{esc(of.title)}</h3><p>each mark drawn {draws}</p></header>'
        f'<div class="body"><div><figure>{drawn}</figure>{notes}</div>'
        f'<div class="side">{legend(comparison.names)}'
        f"{parted_of(first, comparison.compared, pictured, album)}</div></div>"
        f"<details><summary>Figures of this blend</summary>{tables}</details></article>"
    )


def _pair(comparison: Comparison, pair: PairOverBlend, drawn: PairDifference | None) -> str:
    keys = f"{KEYS[pair.first]} and {KEYS[pair.second]}"
    if drawn is None:
        return f"{keys}: no draw in common."
    one = winner(drawn)
    said = alike(comparison.compared.tests) if one is None else f"{comparison.names[one]} is better"
    less = f"{KEYS[pair.first]} minus {KEYS[pair.second]}"
    over = (
        ""
        if pair.mean is None
        else f" Over all {count(pair.draws)} draws {less} is {mean_words(pair.mean)}."
    )
    return f"{keys}: {said}. On the first draw {less} is {difference_words(drawn)}.{over}"


def _text(words: str) -> str:
    return esc(typeset(words))
