"""The panel beside a chart: everything that is known of one level.

The same words stand in the markup at the level to begin with and, for every level, in
the data of the page's script, which fills the panel in again as the handle moves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from gen.evaluate.confused import distance
from gen.evaluate.results import Curve, Evaluation, Point
from gen.report.album import Album
from gen.report.checks import INK_LOST
from gen.report.confusion import confusion
from gen.report.glyph_words import Seen, short_words
from gen.report.markup import esc
from gen.report.panel_table import PanelTable
from gen.report.places import place
from gen.report.shown import Picture
from gen.report.sure_here import SureHere, sure_here
from gen.report.typeset import typeset
from gen.report.words import amount, count, measured, p_words, points, quoted, span


@dataclass(frozen=True)
class Reading:
    """One level of a sweep in words.

    Attributes
    ----------
    where
        The level: "at +3 px along x (right)".
    now
        What the handle says of it.
    share
        Its accuracy.
    lines
        The interval and counts, the difference from nominal, how sure the model was.
    wrong
        What is said over the misread glyphs.
    misread
        The glyphs.
    confused
        The confusion matrix, or what matters of it.
    sure
        What confidence is worth there; None where the model gives labels only.
    """

    where: str
    now: str
    share: str
    lines: tuple[str, ...]
    wrong: str
    misread: tuple[Picture, ...]
    confused: PanelTable
    sure: SureHere | None


def start_of(curve: Curve, floor: float) -> int:
    """The level to begin with: the peak off nominal, else the nearest under the floor, or nominal.

    Returns
    -------
    int
        Its index.
    """
    levels = [point.level for point in curve.points]
    if curve.peak.off_nominal:
        return levels.index(curve.peak.level)
    under = [
        (distance(point.level, curve.nominal), i)
        for i, point in enumerate(curve.points)
        if point.accuracy.value < floor
    ]
    return min(under)[1] if under else levels.index(curve.nominal)


def reading(
    evaluation: Evaluation, curve: Curve, index: int, misread: tuple[Picture, ...]
) -> Reading:
    """What is known of one level.

    Parameters
    ----------
    evaluation, curve, index
        Which.
    misread
        The glyphs to show that are misread there.
    """
    point = curve.points[index]
    part = point.accuracy
    where = place(curve, point.level)
    if point.level == curve.nominal:
        where = f"nominal, {where}"
    within = f"{100 * part.low:.1f} to {100 * part.high:.1f} %"
    lost = part.n - part.correct
    wrong = "None was misread here." if not lost else f"{count(lost)} misread here"
    if lost and misread:
        wrong += ", among them" if len(misread) < lost else ""
        wrong += ":"
    elif lost:
        wrong += "."
    return Reading(
        where=typeset(where),
        now=typeset(f"{where}: {measured(part.value)}, interval {within}"),
        share=measured(part.value),
        lines=tuple(typeset(line) for line in _lines(curve, point, within)),
        wrong=wrong,
        misread=misread,
        confused=confusion(
            evaluation.classes, point, f"{curve.title}, {typeset(amount(curve, point.level))}"
        ),
        sure=sure_here(point, where),
    )


def _lines(curve: Curve, point: Point, within: str) -> list[str]:
    part, gap = point.accuracy, point.difference
    lines = [f"{within}, {count(part.correct)} of {count(part.n)} read rightly"]
    if gap is not None and point.level != curve.nominal:
        lines.append(
            f"{points(gap.value)} from nominal {span(gap.low, gap.high)}, {p_words(gap.p_holm)}"
        )
    sure = [
        f"{measured(share)} when {name}"
        for name, share in (("right", point.confidence_right), ("wrong", point.confidence_wrong))
        if share is not None
    ]
    if sure:
        lines.append(f"sure: {', '.join(sure)}")
    if point.ink_lost > INK_LOST:
        lines.append(f"{measured(point.ink_lost)} of the ink left the frame")
    return lines


def panel(told: Reading, *, ident: str, title: str, glyph: Seen | None, album: Album) -> str:
    """Markup of the panel.

    Parameters
    ----------
    told
        The level.
    ident
        Start of the ids in it, of this page alone.
    title
        Of the sweep.
    glyph
        The followed glyph there; None where none is.
    album
        Where the pictures of the page are.
    """
    seen = ""
    if glyph is not None:
        seen = (
            f'<figure class="large" data-part="glyph">{album.img(glyph.image, glyph.words)}'
            f"<figcaption>{esc(glyph.words)}</figcaption></figure>"
        )
    lines = "".join(f"<li>{esc(line)}</li>" for line in told.lines)
    misread = "".join(_misread(picture, album) for picture in told.misread)
    return (
        f'<div class="reading" id="{ident}-reading" role="group" '
        f'aria-label="One level of {esc(title)}">'
        f'<h4 data-part="where">{esc(told.where)}</h4>'
        f'<div class="seen">{seen}<div><p class="big" data-part="share">{esc(told.share)}</p>'
        f'<ul data-part="lines">{lines}</ul></div></div>'
        f'<p class="told" data-part="wrong">{esc(told.wrong)}</p>'
        f'<div class="misread" data-part="misread">{misread}</div>'
        f'<div class="confused" data-part="confused">{told.confused.markup()}</div></div>'
    )


def misread_words(picture: Picture) -> tuple[str, str, str]:
    """Under a misread glyph: its class, what it was read as, how sure the model was."""
    said = picture.said
    sure = "" if said.confidence is None else measured(said.confidence)
    return quoted(picture.true), short_words(said), typeset(sure)


def _misread(picture: Picture, album: Album) -> str:
    true, answered, sure = misread_words(picture)
    return (
        f"<figure>{album.img(picture.image, f'{true} {answered}')}<figcaption><b>{esc(true)}</b>"
        f'<span class="wrong">{esc(answered)}</span><small>{esc(sure)}</small>'
        "</figcaption></figure>"
    )


def values(told: Reading, album: Album) -> dict[str, Any]:
    """The same for the script; pictures by their numbers."""
    return {
        "where": told.where,
        "now": told.now,
        "share": told.share,
        "lines": told.lines,
        "wrong": told.wrong,
        "misread": [[album.later(p.image), *misread_words(p)] for p in told.misread],
        "confused": told.confused.values(),
        "sure": None if told.sure is None else told.sure.values(),
    }


def step(levels: int) -> int:
    """How many levels a page key moves the handle."""
    return max(2, math.ceil(levels / 8))
