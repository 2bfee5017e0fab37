"""The chart of a sweep whose levels are names: a row each, with a whisker."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.results import Curve
from gen.report.album import Album
from gen.report.chart_marks import glyph, tick, upright, whisker
from gen.report.glyph_words import Seen
from gen.report.markup import esc
from gen.report.typeset import typeset
from gen.report.words import amount, inside, measured, percent

ROW = 48


def rows(
    curve: Curve, floor: float, guess: float, strip: Sequence[Seen], album: Album
) -> tuple[str, int]:
    """A row for each level, and how high all are in px."""
    foot = 18 + ROW * len(curve.points)
    lines = (
        (floor, "floor", f"floor {percent(floor)}"),
        (guess, "chance", f"guess {measured(guess)}"),
    )
    parts = [upright(share, kind, label, top=16, foot=20) for share, kind, label in lines]
    kept = inside(curve, curve.tolerance)
    for i, point in enumerate(curve.points):
        y = 18 + ROW * i
        name = typeset(amount(curve, point.level))
        tags = []
        if point.level == curve.nominal:
            tags.append("nominal")
        if curve.peak.off_nominal and point.level == curve.peak.level:
            tags.append("peak")
        said = f'<tspan class="tag" dx="8">{", ".join(tags)}</tspan>' if tags else ""
        part = point.accuracy
        held = "dot" if point.level in kept else "dot hollow"
        marks = "".join(tick(share, kind, y + 31) for share, kind, _ in lines)
        seen = glyph(strip[i], -54, y + 1, ROW - 6, album) if strip else ""
        if strip:
            said += f'<tspan class="said" dx="8">{esc(strip[i].short)}</tspan>'
        ring = ""
        if "peak" in tags:
            ring = f'<circle class="ring" cx="{100 * part.value:.2f}%" cy="{y + 31}" r="8"/>'
        parts.append(
            f'<g data-level="{i}">{seen}'
            f'<line class="track" x1="0%" x2="100%" y1="{y + 31}" y2="{y + 31}"/>{marks}'
            f'<text class="name halo" x="0%" y="{y + 19}">{esc(name)}{said}</text>'
            f'<text class="value halo" x="100%" y="{y + 19}" text-anchor="end">'
            f"{measured(part.value)}</text>{whisker(part, y + 31, held)}{ring}</g>"
        )
    parts += [
        f'<text class="tick" x="{x}%" y="{foot + 10}" text-anchor="{anchor}">{x} %</text>'
        for x, anchor in ((0, "start"), (50, "middle"), (100, "end"))
    ]
    return "".join(parts), foot + 16
