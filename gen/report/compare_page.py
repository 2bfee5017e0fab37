"""compare.html: one file that holds everything and fetches nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from gen.evaluate.compared import ComparedGrid, ComparedSweep, PairDifference
from gen.report.album import Album
from gen.report.axis_words import axis_words
from gen.report.compare_chart import KEYS, chart, framed, sample
from gen.report.compare_findings import CAREFUL, MOST_PAIRS, Said, split
from gen.report.compare_pictures import Pictured, ReadMark
from gen.report.compare_proof import parted_in, proof
from gen.report.compare_words import ALIKE, between, mean_words
from gen.report.markup import Markup, esc, table
from gen.report.names import isolated
from gen.report.typeset import typeset
from gen.report.whole_page import whole_page
from gen.report.words import (
    amount,
    count,
    interval_words,
    measured,
    p_figure,
    points,
    quoted,
    span,
)

if TYPE_CHECKING:
    from gen.report.compare_make import Comparison


_STRIP = (
    "Under each axis stands one mark as it is at these levels, and under that what each model "
    "takes it for; what is wrong is heavy."
)


def as_html(comparison: Comparison) -> str:
    """The comparison as a page."""
    compared = comparison.compared
    recipe = comparison.models[0].recipe
    album, pictured = Album(), Pictured(comparison.models)
    body = f"""<div class="answer" id="findings">
<h1>{esc(comparison.verdict)}</h1>
{_legend(comparison)}
{_findings(comparison, pictured, album)}
</div>
{_models(comparison)}
{_glance(comparison)}
{_sweeps(comparison, pictured, album)}
{_grids(comparison)}
{_how_made(comparison)}"""
    return whole_page(
        body,
        title=f"{comparison.verdict}: {recipe}",
        under=f"{recipe}: {compared.models} models",
        skip="Go to the findings",
        sheets=("style.css", "compare.css"),
    )


def _legend(comparison: Comparison) -> str:
    """Who is who throughout the page."""
    return "".join(
        f'<div><dt><span class="key m{at}">{KEYS[at]} {sample(at)}</span></dt>'
        f"<dd>{esc(name)}</dd></div>"
        for at, name in enumerate(comparison.names)
    ).join(('<dl class="who">', "</dl>"))


def _findings(comparison: Comparison, pictured: Pictured, album: Album) -> str:
    def listed(found: Sequence[Said]) -> str:
        items = []
        for said in found:
            kind = ' class="careful"' if said.kind == CAREFUL else ""
            under = f'<p class="measured">{_text(said.measured)}</p>' if said.measured else ""
            shown = proof(said, comparison.compared, pictured, album)
            items.append(
                f'<li{kind}><div><p class="says">{_text(said.says)}</p>{under}</div>{shown}</li>'
            )
        return f'<ol class="findings">{"".join(items)}</ol>'

    first, later = split(comparison.findings)
    more = ""
    if later:
        more = f"<details><summary>{len(later)} more pairs</summary>{listed(later)}</details>"
    return listed(first) + more


def _models(comparison: Comparison) -> str:
    """Who is who, with its accuracy where nothing is changed."""
    nominal = comparison.compared.cells[0]
    rows = []
    for at, one in enumerate(comparison.models):
        share = nominal.accuracies[at]
        rows.append(
            (
                Markup(f'<span class="key m{at}">{KEYS[at]} {sample(at)}</span> {esc(one.name)}'),
                "no answers" if share is None else typeset(interval_words(share)),
                one.report or "made in Python",
            )
        )
    heads = ("Model", "Nominal accuracy (95 % interval)", "Report")
    return (
        '<section id="models" class="models" aria-labelledby="models-h">'
        '<h2 id="models-h">The models</h2>'
        + table("Models, nothing changed", heads, rows)
        + f'<p class="hint">{_text(comparison.chance_words)}</p></section>'
    )


def _glance(comparison: Comparison) -> str:
    """All sweeps in one table: who leads, and the mean accuracies."""
    compared = comparison.compared
    rows = []
    for at, sweep in enumerate(compared.sweeps):
        leads = "nobody" if sweep.leader is None else KEYS[sweep.leader]
        row = [
            Markup(f'<a href="#sweep-{at + 1}">{esc(sweep.of.side.title)}</a>'),
            leads,
            *_means(sweep, compared.models),
        ]
        if compared.models == 2:
            row.append(typeset(mean_words(sweep.pairs[0].mean)))
        rows.append(row)
    if not rows:
        return ""
    keys = [f"Mean {KEYS[at]}" for at in range(compared.models)]
    heads = ["Sweep", "Leads", *keys, *(["A less B"] if compared.models == 2 else [])]
    hint = (
        "A model leads where it is better than each other one at some level, by a test corrected "
        f"for all {count(compared.tests)} made here, and worse than none at any. Means are over "
        "the levels of a sweep but nominal"
        + (
            "; their intervals are 95 % each, by bootstrap, not corrected for how many there are."
            if compared.models == 2
            else "."
        )
    )
    return (
        '<section id="glance" class="glance" aria-labelledby="glance-h">'
        f'<h2 id="glance-h">Sweep by sweep</h2><p class="hint">{_text(hint)}</p>'
        + table("All sweeps", heads, rows)
        + "</section>"
    )


def _means(sweep: ComparedSweep, models: int) -> list[str]:
    return (
        ["" for _ in range(models)]
        if sweep.means is None
        else [typeset(measured(m)) for m in sweep.means]
    )


def _sweeps(comparison: Comparison, pictured: Pictured, album: Album) -> str:
    sweeps = range(len(comparison.compared.sweeps))
    parts = "".join(_sweep(comparison, at, pictured, album) for at in sweeps)
    if not parts:
        return ""
    hint = f'<p class="hint">{_STRIP}</p>' if pictured.marks else ""
    return (
        '<section id="sweeps" aria-labelledby="sweeps-h"><h2 id="sweeps-h">Each sweep</h2>'
        f"{hint}{parts}</section>"
    )


def _sweep(comparison: Comparison, at: int, pictured: Pictured, album: Album) -> str:
    compared, names = comparison.compared, comparison.names
    sweep = compared.sweeps[at]
    side = sweep.of.side
    ident = f"sweep-{at + 1}"
    strip = pictured.through(compared, sweep)
    notes = "".join(
        f'<p class="note fact">{KEYS[pair.first]} and {KEYS[pair.second]}: '
        f"{_text(between(pair, side, names))}. Mean difference "
        f"{_text(mean_words(pair.mean))}.</p>"
        for pair in sweep.pairs
    )
    if len(sweep.pairs) > MOST_PAIRS:
        notes = f"<details><summary>All {len(sweep.pairs)} pairs</summary>{notes}</details>"
    drawn = chart(compared, sweep, names, ident=ident, strip=strip, album=album)
    return (
        f'<article class="sweep" id="{ident}" aria-labelledby="{ident}-h">'
        f'<header><h3 id="{ident}-h">{esc(side.title)}</h3>'
        f"<p>{esc(axis_words(framed(sweep)))}</p></header>"
        f'<div class="body"><figure>{drawn}</figure>'
        f'<div class="side">{_legend(comparison)}{notes}'
        f"{parted_in(sweep, compared, pictured, album)}</div></div>"
        "<details><summary>Figures of this sweep</summary>"
        f"{_figures(comparison, sweep, strip, ident)}</details></article>"
    )


def _figures(
    comparison: Comparison, sweep: ComparedSweep, strip: Sequence[ReadMark], ident: str
) -> str:
    side, models = sweep.of.side, comparison.compared.models
    levels = [typeset(amount(side, level)) for level in side.levels]
    rows = [
        (level, *_cell(comparison, cell))
        for level, cell in zip(levels, sweep.of.cells, strict=True)
    ]
    heads = ("Level", *_heads(models))
    out = table(f"Figures: {side.title}", heads, rows, ident=f"{ident}-table")
    if not strip:
        return out
    read = [
        (level, *("no answer" if one is None else isolated(one) for one in mark.answers))
        for level, mark in zip(levels, strip, strict=True)
    ]
    caption = f"What {quoted(strip[0].true)} is read as: {side.title}"
    return out + table(caption, ("Level", *KEYS[:models]), read)


def _heads(models: int) -> list[str]:
    pairs = [(a, b) for a in range(models) for b in range(a + 1, models)]
    return [
        *(f"{KEYS[at]}, 95 % interval" for at in range(models)),
        *(head for a, b in pairs for head in (f"{KEYS[a]} less {KEYS[b]}", "p, Holm")),
    ]


def _cell(comparison: Comparison, name: str) -> list[str]:
    """The figures of one cell: accuracies, then each pair's difference and test."""
    compared = comparison.compared
    cell = compared.cell(name)
    out = ["no answers" if s is None else interval_words(s) for s in cell.accuracies]
    held = {(d.first, d.second): d for d in cell.differences}
    for first in range(compared.models):
        for second in range(first + 1, compared.models):
            out += _difference(held.get((first, second)))
    return out


def _difference(one: PairDifference | None) -> tuple[str, str]:
    if one is None:
        return "", ""
    return f"{points(one.value)} {span(one.low, one.high)}", p_figure(one.p_holm)


def _grids(comparison: Comparison) -> str:
    parts = [_grid(comparison, grid, at) for at, grid in enumerate(comparison.compared.grids, 1)]
    if not parts:
        return ""
    return (
        '<section id="grids" aria-labelledby="grids-h"><h2 id="grids-h">Each grid</h2>'
        f"{''.join(parts)}</section>"
    )


def _grid(comparison: Comparison, grid: ComparedGrid, number: int) -> str:
    of = grid.of
    rows = [
        (typeset(f"{amount(of.down, down)}, {amount(of.across, across)}"), *_cell(comparison, cell))
        for down, row in zip(of.down.levels, of.cells, strict=True)
        for across, cell in zip(of.across.levels, row, strict=True)
    ]
    said = "; ".join(
        f"{KEYS[a]} better than {KEYS[b]} in {won} of {len(rows)} cells, worse in {lost}"
        if won or lost
        else f"{KEYS[a]} and {KEYS[b]}: {ALIKE.lower()} in any of {len(rows)} cells"
        for a, b, won, lost in grid.better
    )
    heads = ("Levels", *_heads(comparison.compared.models))
    ident = f"grid-{number}"
    return (
        f'<article class="sweep" id="{ident}" aria-labelledby="{ident}-h"><header>'
        f'<h3 id="{ident}-h">{esc(of.title)}</h3><p>{esc(said)}</p></header>'
        f"<details><summary>Figures of this grid</summary>"
        f"{table(f'Figures: {of.title}', heads, rows, ident=f'{ident}-table')}</details></article>"
    )


def _how_made(comparison: Comparison) -> str:
    first = comparison.models[0]
    told: list[tuple[str, str]] = [
        *((f"Model {KEYS[at]}", one.model) for at, one in enumerate(comparison.models)),
        ("Glyphs", first.glyphs),
        ("Glyphs, SHA-256", first.answered.glyphs_digest),
        ("Glyphs compared", count(comparison.compared.glyphs)),
        ("Recipe", first.recipe),
        ("Recipe, SHA-256", first.answered.recipe_digest),
        *comparison.methods.items(),
        ("Command", comparison.command),
    ]
    lines = "".join(f"<dt>{esc(name)}</dt><dd>{esc(said)}</dd>" for name, said in told if said)
    return (
        '<section id="made" aria-labelledby="made-h"><h2 id="made-h">How this was made</h2>'
        f'<dl class="how">{lines}</dl></section>'
    )


def _text(words: str) -> str:
    return esc(typeset(words))
