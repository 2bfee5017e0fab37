"""compare.html: one file that holds everything and fetches nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from gen.report.album import Album
from gen.report.compare_blends import blends
from gen.report.compare_findings import CAREFUL, PAIR, Said, split
from gen.report.compare_glance import glance
from gen.report.compare_keys import KEYS, legend, sample
from gen.report.compare_maps import grids
from gen.report.compare_pictures import Pictured
from gen.report.compare_proof import proof
from gen.report.compare_sweeps import sweeps
from gen.report.markup import Markup, esc, table
from gen.report.typeset import typeset
from gen.report.whole_page import whole_page
from gen.report.words import count, interval_words

if TYPE_CHECKING:
    from gen.report.compare_make import Comparison


def as_html(comparison: Comparison) -> str:
    """The comparison as a page."""
    compared = comparison.compared
    recipe = comparison.models[0].recipe
    album, pictured = Album(), comparison.pictured
    first, pairs = _findings(comparison, pictured, album)
    body = f"""<div class="answer" id="findings">
<h1>{esc(comparison.verdict)}</h1>
{legend(comparison.names)}
{first}
</div>
{glance(comparison)}
{pairs}
{_models(comparison)}
{sweeps(comparison, pictured, album)}
{grids(comparison, pictured, album)}
{blends(comparison, pictured, album)}
{_how_made(comparison)}"""
    return whole_page(
        body,
        title=f"{comparison.verdict}: {recipe}",
        under=f"{recipe}: {compared.models} models",
        skip="Go to the findings",
        sheets=("style.css", "compare.css"),
    )


def _kind(said: Said) -> str:
    """A finding has the colour of the one model that it praises."""
    praised = {where.first for where in said.shows}
    if len(praised) == 1:
        return f"lead-m{praised.pop()}"
    return "careful" if said.kind == CAREFUL else ""


def _findings(comparison: Comparison, pictured: Pictured, album: Album) -> tuple[str, str]:
    """What stands first, and the pairs: of more than two models they have a part of their own."""

    def listed(found: Sequence[Said]) -> str:
        items = []
        for said in found:
            kind = f' class="{_kind(said)}"' if _kind(said) else ""
            under = f'<p class="measured">{_text(said.measured)}</p>' if said.measured else ""
            shown = proof(said, comparison.compared, pictured, album)
            items.append(
                f'<li{kind}><div><p class="says">{_text(said.says)}</p>{under}</div>{shown}</li>'
            )
        return f'<ol class="findings">{"".join(items)}</ol>'

    first, later = split(comparison.findings)
    if comparison.compared.models == 2:
        return listed(first), ""
    pairs = [said for said in first if said.kind == PAIR]
    more = ""
    if later:
        more = f"<details><summary>{len(later)} more pairs</summary>{listed(later)}</details>"
    return listed([said for said in first if said.kind != PAIR]), (
        '<section id="pairs" class="pairs" aria-labelledby="pairs-h">'
        f'<h2 id="pairs-h">Each pair</h2>{listed(pairs)}{more}</section>'
    )


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
