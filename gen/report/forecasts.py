"""The part of the page that shows blends: what to expect, and what the loss comes from."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.results import Difference, Evaluation, Forecast, LossShare
from gen.report.album import Album
from gen.report.charts import gauge
from gen.report.checks import chance
from gen.report.glyph_words import read_words, short_words
from gen.report.markup import Markup, esc, table
from gen.report.shown import ShownBlend
from gen.report.typeset import typeset
from gen.report.words import count, measured, points, quoted, span


def blends(evaluation: Evaluation, shown: Sequence[ShownBlend], album: Album) -> str:
    """A forecast for each blend, with its loss split; nothing where there is no blend."""
    if not evaluation.blends:
        return ""
    parts = "".join(
        _blend(evaluation, blend, f"blend-{i}", _drawn(shown[i - 1] if shown else None, album))
        for i, blend in enumerate(evaluation.blends, 1)
    )
    return (
        '<section id="blends" aria-labelledby="blends-h"><h2 id="blends-h">What to expect</h2>'
        '<p class="hint">Several changes at once, as often and as far as the recipe says that '
        f"they happen.</p>{parts}</section>"
    )


def _drawn(shown: ShownBlend | None, album: Album) -> str:
    """Some glyphs as they may come, those marked that are misread."""
    if shown is None or not shown.drawn:
        return ""
    inner = "".join(
        f"<figure>{album.img(p.image, f'{quoted(p.true)} {read_words(p.said)}')}"
        f'<figcaption><span class="wrong">{esc(short_words(p.said))}</span></figcaption></figure>'
        for p in shown.drawn
    )
    return (
        '<p class="hint">As they may come; under those that are misread, what they are read as.'
        f'</p><div class="drawn">{inner}</div>'
    )


def _blend(evaluation: Evaluation, blend: Forecast, ident: str, drawn_glyphs: str) -> str:
    scored = blend.accuracy
    guess = chance(evaluation)[0]
    draws = "once" if blend.draws == 1 else f"{count(blend.draws)} times"
    of = f"each glyph drawn {draws}"
    drawn = gauge(
        scored, floor=evaluation.floor, guess=guess, ident=ident, title=f"Forecast: {blend.title}"
    )
    return (
        f'<article class="blend" id="{ident}" aria-labelledby="{ident}-h">'
        f'<header><h3 id="{ident}-h">{esc(blend.title)}</h3></header>'
        f'<div class="base"><p><span class="big">{measured(scored.value)}</span>'
        f"{100 * scored.low:.1f} to {100 * scored.high:.1f} %, {of}</p><div>{drawn}</div></div>"
        f'<p class="hint">{esc(typeset(_loss(blend)))} The interval is 95\u00a0%, '
        f"{esc(scored.method)}.</p>"
        f"{drawn_glyphs}{_split(blend)}</article>"
    )


def _loss(blend: Forecast) -> str:
    return f"Against nominal that is {_gap(blend.loss)}, on the first draw of each glyph."


def _split(blend: Forecast) -> str:
    if not blend.parts:
        return ""
    heads = ("Change", "Share of the loss", "", "It alone", "Without it")
    ordered = sorted(blend.parts, key=lambda part: -(part.share or 0.0))
    return table(f"Where the loss of {blend.title} comes from", heads, [_part(p) for p in ordered])


def _part(part: LossShare) -> tuple[str, ...]:
    share = "" if part.share is None else measured(part.share)
    return (
        part.title,
        share,
        Markup(_bar(part.share or 0.0)),
        typeset(_gap(part.alone)),
        # What comes back when the part is left out.
        typeset(_gap(part.without)),
    )


def _bar(share: float) -> str:
    """A bar beside its figure; what a part gains has none."""
    width = 100 * min(1.0, max(0.0, share))
    return (
        '<svg class="split" width="120" height="12" aria-hidden="true">'
        '<line class="track" x1="0" x2="100%" y1="11.5" y2="11.5"/>'
        f'<rect class="part" x="0" y="1" width="{width:.1f}%" height="10"/></svg>'
    )


def _gap(part: Difference) -> str:
    return f"{points(part.value)} {span(part.low, part.high)}"
