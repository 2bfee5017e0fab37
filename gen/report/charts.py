"""Charts as inline SVG that keep their text size at any width.

Across, everything stands at percentages of the width; up and down, at px. Only
the lines between points are stretched, in a nested picture of 100 by 100.
Colours and sizes are the style sheet's; shapes carry the meaning without them.
"""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.results import Curve, Point, Proportion
from gen.report.album import Album
from gen.report.axis import Axis, lay_out
from gen.report.chart_marks import glyph, placed, upright, whisker
from gen.report.glyph_words import Seen
from gen.report.markup import esc
from gen.report.row_chart import ROW, rows
from gen.report.typeset import typeset
from gen.report.words import (
    amount,
    at,
    by_name,
    extremes,
    measured,
    number,
    percent,
    range_words,
)

TOP = 26
PLOT = 200
AXIS = TOP + PLOT
GLYPH = 52
SAID = 15
"""Room under a glyph for what it was read as."""


def chart(
    curve: Curve,
    *,
    ident: str,
    floor: float,
    guess: float,
    strip: Sequence[Seen] = (),
    album: Album | None = None,
) -> str:
    """A curve with its interval band, or rows with whiskers where levels are names.

    Parameters
    ----------
    curve
        What to draw.
    ident
        Start of the ids in it, of this page alone.
    floor, guess
        Accuracies to mark: the floor and that of a blind guess.
    strip
        A glyph at each level, or nothing.
    album
        Where the pictures of the page are.
    """
    album = Album() if album is None else album
    if by_name(curve):
        inner, height = rows(curve, floor, guess, strip, album)
        kind = "rows pictured" if strip else "rows"
    else:
        inner, height = _line(curve, floor, guess, strip, album)
        kind = "line pictured" if strip else "line"
    return (
        f'<svg class="chart {kind}" width="100%" height="{height}" role="img" '
        f'aria-labelledby="{ident}-t {ident}-d">'
        f'<title id="{ident}-t">Accuracy by {esc(curve.title)}</title>'
        f'<desc id="{ident}-d">{esc(typeset(description(curve, floor)))}</desc>{inner}</svg>'
    )


def gauge(
    part: Proportion,
    *,
    floor: float,
    guess: float,
    ident: str = "base",
    title: str = "Accuracy at nominal",
) -> str:
    """An accuracy with its interval on a line from 0 to 100 %."""
    says = (
        f"{measured(part.value)}, interval {measured(part.low)} to {measured(part.high)}, "
        f"floor {percent(floor)}, blind guess {measured(guess)}"
    )
    return (
        '<svg class="chart gauge" width="100%" height="62" role="img" '
        f'aria-labelledby="{ident}-t {ident}-d"><title id="{ident}-t">{esc(title)}</title>'
        f'<desc id="{ident}-d">{esc(says)}</desc>'
        + upright(floor, "floor", f"floor {percent(floor)}", top=12, foot=40)
        + upright(guess, "chance", f"guess {measured(guess)}", top=12, foot=40)
        + f'<line class="track" x1="0%" x2="100%" y1="30" y2="30"/>{whisker(part, 30, "dot big")}'
        + "".join(
            f'<text class="tick" x="{x}%" y="58" text-anchor="{anchor}">{x} %</text>'
            for x, anchor in ((0, "start"), (50, "middle"), (100, "end"))
        )
        + "</svg>"
    )


def stops(curve: Curve) -> tuple[float, ...]:
    """Where a handle stands at each level: percent of the width, or px from the top for rows."""
    if by_name(curve):
        return tuple(float(18 + ROW * i) for i in range(len(curve.points)))
    return lay_out(curve).xs


def description(curve: Curve, floor: float) -> str:
    """The chart in words, for those who don't see it."""
    best, least = extremes(curve)
    nominal = next(point for point in curve.points if point.level == curve.nominal)
    return (
        f"{measured(nominal.accuracy.value)} at nominal ({amount(curve, curve.nominal)}). "
        f"Highest {measured(best.accuracy.value)} {at(curve, best.level)}, "
        f"lowest {measured(least.accuracy.value)} {at(curve, least.level)}. "
        f"Keeps the floor of {percent(floor)}: {range_words(curve, curve.tolerance)}."
    )


def _line(
    curve: Curve, floor: float, guess: float, strip: Sequence[Seen], album: Album
) -> tuple[str, int]:
    axis = lay_out(curve)
    parts = [
        "".join(
            f'<line class="grid" x1="0%" x2="100%" y1="{_y(share):.1f}" y2="{_y(share):.1f}"/>'
            f'<text class="tick" x="0%" dx="-8" y="{_y(share) + 4:.1f}" text-anchor="end">'
            f"{100 * share:.0f} %</text>"
            for share in (0.0, 0.5, 1.0)
        ),
        _level_line(curve, axis, floor, "floor", f"floor {percent(floor)}"),
        _level_line(curve, axis, guess, "chance", f"guess {measured(guess)}"),
        _marked_levels(curve, axis),
        _stretched(curve, axis),
        _tolerance(curve, axis),
    ]
    for i, point in enumerate(curve.points):
        seen = _glyph_under(strip[i], axis, axis.xs[i], album) if strip and i in axis.shown else ""
        parts.append(_point(curve, axis, i, point, seen))
    return "".join(parts), AXIS + 34 + (GLYPH + 6 + SAID if strip else 0)


def _level_line(curve: Curve, axis: Axis, share: float, kind: str, label: str) -> str:
    """A line across, named where the curve leaves most room."""
    y = _y(share)
    ends = ((100, "end", 90), (0, "start", 10))
    along = (*ends, *((x, "middle", x) for x in (68, 32, 58, 42)))
    # Over the line, and under it only where that is better; not down on the axis.
    sides = (-5, 14) if share > 0.1 else (-5,)
    places = [(*place, dy) for dy in sides for place in along]
    x, anchor, _, dy = max(
        places, key=lambda place: _room(curve, axis, share - (place[3] - 4) / PLOT, place[2])
    )
    return (
        f'<line class="{kind}" x1="0%" x2="100%" y1="{y:.1f}" y2="{y:.1f}"/>'
        f'<text class="{kind} halo" x="{x}%" y="{y + dy:.1f}" text-anchor="{anchor}">'
        f"{esc(label)}</text>"
    )


def _room(curve: Curve, axis: Axis, middle: float, x: float) -> float:
    """How far the curve stays from a label whose middle is at an accuracy; enough is enough."""
    order = sorted(range(len(axis.xs)), key=lambda i: abs(axis.xs[i] - x))
    near = [i for i in order if abs(axis.xs[i] - x) < 13] or order[:2]
    return min(0.15, *(abs(curve.points[i].accuracy.value - middle) for i in near))


def _marked_levels(curve: Curve, axis: Axis) -> str:
    """Nominal, and the peak when it isn't there, with their names on top."""
    nominal = axis.at(float(curve.nominal))
    marks = [(nominal, "nominal", "nominal")]
    if curve.peak.off_nominal:
        peak = axis.at(float(curve.peak.level))
        marks.append((peak, "peak", f"peak {amount(curve, curve.peak.level)}"))
    out = []
    for x, kind, label in marks:
        others = [other for other, *_ in marks if other != x]
        # Names of neighbours lean away from each other; those at an end lean inwards.
        anchor, dx = "middle", 0
        if x < 12 or (others and 0 < x - others[0] < 22 and x < 80):
            anchor, dx = "start", 0 if x < 12 else -4
        elif x > 88 or (others and 0 < others[0] - x < 22 and x > 20):
            anchor, dx = "end", 0 if x > 88 else 4
        out.append(
            f'<line class="{kind}" x1="{x:.2f}%" x2="{x:.2f}%" y1="{TOP - 6}" y2="{AXIS}"/>'
            f'<text class="{kind}" x="{x:.2f}%" dx="{dx}" y="{TOP - 12}" '
            f'text-anchor="{anchor}">{esc(label)}</text>'
        )
    return "".join(out)


def _stretched(curve: Curve, axis: Axis) -> str:
    pairs = list(zip(axis.xs, curve.points, strict=True))
    top = [f"{x:g},{100 - 100 * p.accuracy.high:.3f}" for x, p in pairs]
    foot = [f"{x:g},{100 - 100 * p.accuracy.low:.3f}" for x, p in reversed(pairs)]
    middle = [f"{x:g},{100 - 100 * p.accuracy.value:.3f}" for x, p in pairs]
    return (
        f'<svg class="stretched" x="0" y="{TOP}" width="100%" height="{PLOT}" '
        'viewBox="0 0 100 100" preserveAspectRatio="none" aria-hidden="true">'
        f'<polygon class="band" points="{" ".join(top + foot)}"/>'
        f'<polyline class="curve" points="{" ".join(middle)}"/></svg>'
    )


def _tolerance(curve: Curve, axis: Axis) -> str:
    """A bar under the axis; an end that may go on has an arrow, the others a stop."""
    kept = curve.tolerance
    if kept.low is None or kept.high is None:
        return ""
    y = AXIS + 7
    out = []
    ends = []
    for end, is_open, way in ((kept.low, kept.open_low, -1), (kept.high, kept.open_high, 1)):
        x = axis.at(end)
        ends.append(x)
        one_sided = is_open and end == curve.nominal
        if is_open and not one_sided:
            path = f"M{way * 1} -4 L{way * 8} 0 L{way * 1} 4 Z"
            out.append(placed(x, y, f'<path class="kept-end" d="{path}"/>'))
        else:
            out.append(placed(x, y, '<path class="kept-end" d="M-1.5 -5 h3 v10 h-3 Z"/>'))
    line = f'<line class="kept" x1="{ends[0]:.2f}%" x2="{ends[1]:.2f}%" y1="{y}" y2="{y}"/>'
    return line + "".join(out)


def _point(curve: Curve, axis: Axis, i: int, point: Point, seen: str) -> str:
    x = axis.xs[i]
    y = _y(point.accuracy.value)
    out = f'<circle class="dot" cx="{x:g}%" cy="{y:.1f}" r="3"/>'
    if curve.peak.off_nominal and point.level == curve.peak.level:
        out += f'<circle class="ring" cx="{x:g}%" cy="{y:.1f}" r="7"/>'
    if i in axis.shown:
        wide = "" if i in axis.phone else " wide"
        label = typeset(number(curve, point.level))
        out += (
            f'<text class="tick{wide}" x="{x:g}%" y="{AXIS + 28}" text-anchor="middle">'
            f"{esc(label)}</text>"
        )
        if seen:
            out += placed(x, AXIS + 36, seen, f"glyph{wide}")
    return f'<g data-level="{i}">{out}</g>'


def _glyph_under(seen: Seen, axis: Axis, x: float, album: Album) -> str:
    """A glyph of the strip, and under it what it was misread as."""
    # A picture may be as wide as its share of a column of about 500 px.
    side = min(GLYPH, axis.gap * 4.9)
    said = f'<text class="said" x="0" y="{side + SAID - 2:g}" text-anchor="middle">'
    return f"{glyph(seen, -side / 2, 0, side, album)}{said}{esc(seen.short)}</text>"


def _y(share: float) -> float:
    return TOP + PLOT * (1 - share)
