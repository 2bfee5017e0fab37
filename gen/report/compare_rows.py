"""Accuracies of all models below each other: where levels are names, and for a blend."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.compared import ComparedCell
from gen.evaluate.results import Curve, Proportion
from gen.report.album import Album
from gen.report.chart_marks import glyph
from gen.report.compare_keys import KEYS, MARKS
from gen.report.compare_pictures import ReadMark
from gen.report.markup import esc
from gen.report.words import amount, measured

ROW = 21
NAME = 24
GLYPH = 48


def rows(
    frame: Curve, cells: Sequence[ComparedCell], strip: Sequence[ReadMark], album: Album
) -> tuple[str, int]:
    """A row for each model at each level, and how high all are in px."""
    parts, y = [], 4
    for at, (point, cell) in enumerate(zip(frame.points, cells, strict=True)):
        tag = ' <tspan class="tag" dx="8">nominal</tspan>' if point.level == frame.nominal else ""
        if strip:
            mark = strip[at]
            parts.append(glyph(strip[at].seen, -GLYPH - 30, y + 4, GLYPH, album))
            tag += "".join(
                f'<tspan class="said" dx="8">{KEYS[place]}: {esc(mark.short(place))}</tspan>'
                for place in range(len(cell.accuracies))
                if not mark.right(place)
            )
        parts.append(
            f'<text class="name" x="0%" y="{y + 15}">{esc(amount(frame, point.level))}{tag}</text>'
        )
        y += NAME
        for place, share in enumerate(cell.accuracies):
            parts.append(_row(share, place, y + ROW // 2))
            y += ROW
        y += 8
    return "".join(parts) + _scale(y + 10), y + 16


def _row(share: Proportion | None, place: int, y: int) -> str:
    key = f'<text class="m{place} named" x="0%" dx="-8" y="{y + 4}" text-anchor="end">'
    out = f'{key}{KEYS[place]}</text><line class="track" x1="0%" x2="100%" y1="{y}" y2="{y}"/>'
    if share is None:
        return f'{out}<text class="tick halo" x="0%" y="{y + 4}">no answers</text>'
    low, high = 100 * share.low, 100 * share.high
    return (
        f'{out}<line class="m{place} own" x1="{low:.2f}%" x2="{high:.2f}%" y1="{y}" y2="{y}"/>'
        f'<svg x="{100 * share.value:.2f}%" y="{y}" width="1" height="1" overflow="visible">'
        f'<g class="m{place} mark">{MARKS[place]}</g></svg>'
        f'<text class="value" x="100%" dx="8" y="{y + 4}">{measured(share.value)}</text>'
    )


def expected(accuracies: Sequence[Proportion | None], *, ident: str, title: str, says: str) -> str:
    """The accuracies to expect of all models, one below the other.

    Parameters
    ----------
    accuracies
        One a model, by place.
    ident
        Start of the ids in it, of this page alone.
    title, says
        What it shows, and that in words.
    """
    inner = "".join(
        _row(share, place, ROW * place + ROW // 2) for place, share in enumerate(accuracies)
    )
    foot = ROW * len(accuracies)
    return (
        f'<svg class="chart rows several" width="100%" height="{foot + 18}" role="img" '
        f'aria-labelledby="{ident}-t {ident}-d"><title id="{ident}-t">{esc(title)}</title>'
        f'<desc id="{ident}-d">{esc(says)}</desc>{inner}{_scale(foot + 12)}</svg>'
    )


def _scale(y: int) -> str:
    return "".join(
        f'<text class="tick" x="{x}%" y="{y}" text-anchor="{anchor}">{x} %</text>'
        for x, anchor in ((0, "start"), (50, "middle"), (100, "end"))
    )
