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
from gen.report.glyph_words import Seen
from gen.report.markup import esc
from gen.report.words import (
    amount,
    at,
    by_name,
    extremes,
    inside,
    measured,
    number,
    percent,
    range_words,
)

TOP = 26
PLOT = 200
AXIS = TOP + PLOT
GLYPH = 52
ROW = 48
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
        inner, height = _rows(curve, floor, guess, strip, album)
        kind = "rows pictured" if strip else "rows"
    else:
        inner, height = _line(curve, floor, guess, strip, album)
        kind = "line pictured" if strip else "line"
    return (
        f'<svg class="chart {kind}" width="100%" height="{height}" role="img" '
        f'aria-labelledby="{ident}-t {ident}-d">'
        f'<title id="{ident}-t">Accuracy by {esc(curve.title)}</title>'
        f'<desc id="{ident}-d">{esc(description(curve, floor))}</desc>{inner}</svg>'
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
        + _upright(floor, "floor", f"floor {percent(floor)}", top=12, foot=40)
        + _upright(guess, "chance", f"guess {measured(guess)}", top=12, foot=40)
        + f'<line class="track" x1="0%" x2="100%" y1="30" y2="30"/>{_whisker(part, 30, "dot big")}'
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
    places = ((100, "end", 90), (0, "start", 10), (68, "middle", 68), (32, "middle", 32))
    x, anchor, _ = max(places, key=lambda place: _room(curve, axis, share, place[2]))
    return (
        f'<line class="{kind}" x1="0%" x2="100%" y1="{y:.1f}" y2="{y:.1f}"/>'
        f'<text class="{kind} halo" x="{x}%" y="{y - 5:.1f}" text-anchor="{anchor}">'
        f"{esc(label)}</text>"
    )


def _room(curve: Curve, axis: Axis, share: float, x: float) -> float:
    """How far the curve stays from a label on the line of a share; enough is enough."""
    order = sorted(range(len(axis.xs)), key=lambda i: abs(axis.xs[i] - x))
    near = [i for i in order if abs(axis.xs[i] - x) < 13] or order[:2]
    return min(0.15, *(abs(curve.points[i].accuracy.value - share - 0.04) for i in near))


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
            out.append(_at(x, y, f'<path class="kept-end" d="{path}"/>'))
        else:
            out.append(_at(x, y, '<path class="kept-end" d="M-1.5 -5 h3 v10 h-3 Z"/>'))
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
        label = number(curve, point.level).replace("-", "\u2212")
        out += (
            f'<text class="tick{wide}" x="{x:g}%" y="{AXIS + 28}" text-anchor="middle">'
            f"{esc(label)}</text>"
        )
        if seen:
            out += _at(x, AXIS + 36, seen, f"glyph{wide}")
    return f'<g data-level="{i}">{out}</g>'


def _rows(
    curve: Curve, floor: float, guess: float, strip: Sequence[Seen], album: Album
) -> tuple[str, int]:
    foot = 18 + ROW * len(curve.points)
    lines = (
        (floor, "floor", f"floor {percent(floor)}"),
        (guess, "chance", f"guess {measured(guess)}"),
    )
    parts = [_upright(share, kind, label, top=16, foot=20) for share, kind, label in lines]
    kept = inside(curve, curve.tolerance)
    for i, point in enumerate(curve.points):
        y = 18 + ROW * i
        name = amount(curve, point.level)
        tags = []
        if point.level == curve.nominal:
            tags.append("nominal")
        if curve.peak.off_nominal and point.level == curve.peak.level:
            tags.append("peak")
        said = f'<tspan class="tag" dx="8">{", ".join(tags)}</tspan>' if tags else ""
        part = point.accuracy
        held = "dot" if point.level in kept else "dot hollow"
        marks = "".join(_tick(share, kind, y + 31) for share, kind, _ in lines)
        image = _image(strip[i], -54, y + 1, ROW - 6, album) if strip else ""
        if strip:
            said += f'<tspan class="said" dx="8">{esc(strip[i].short)}</tspan>'
        ring = ""
        if "peak" in tags:
            ring = f'<circle class="ring" cx="{100 * part.value:.2f}%" cy="{y + 31}" r="8"/>'
        parts.append(
            f'<g data-level="{i}">{image}'
            f'<line class="track" x1="0%" x2="100%" y1="{y + 31}" y2="{y + 31}"/>{marks}'
            f'<text class="name halo" x="0%" y="{y + 19}">{esc(name)}{said}</text>'
            f'<text class="value halo" x="100%" y="{y + 19}" text-anchor="end">'
            f"{measured(part.value)}</text>{_whisker(part, y + 31, held)}{ring}</g>"
        )
    parts += [
        f'<text class="tick" x="{x}%" y="{foot + 10}" text-anchor="{anchor}">{x} %</text>'
        for x, anchor in ((0, "start"), (50, "middle"), (100, "end"))
    ]
    return "".join(parts), foot + 16


def _whisker(part: Proportion, y: int, kind: str) -> str:
    low, high, value = 100 * part.low, 100 * part.high, 100 * part.value
    caps = "".join(
        f'<line class="whisker" x1="{x:.2f}%" x2="{x:.2f}%" y1="{y - 5}" y2="{y + 5}"/>'
        for x in (low, high)
    )
    radius = 6 if "big" in kind else 4.5
    return (
        f'<line class="whisker" x1="{low:.2f}%" x2="{high:.2f}%" y1="{y}" y2="{y}"/>{caps}'
        f'<circle class="{kind}" cx="{value:.2f}%" cy="{y}" r="{radius}"/>'
    )


def _upright(share: float, kind: str, label: str, *, top: int, foot: int) -> str:
    x = 100 * share
    anchor = "start" if x < 25 else "end" if x > 75 else "middle"
    return (
        f'<line class="{kind}" x1="{x:.2f}%" x2="{x:.2f}%" y1="{top}" y2="{foot}"/>'
        f'<text class="{kind}" x="{x:.2f}%" y="{top - 5}" text-anchor="{anchor}">'
        f"{esc(label)}</text>"
    )


def _tick(share: float, kind: str, y: int) -> str:
    x = 100 * share
    return f'<line class="{kind}" x1="{x:.2f}%" x2="{x:.2f}%" y1="{y - 8}" y2="{y + 8}"/>'


def _glyph_under(seen: Seen, axis: Axis, x: float, album: Album) -> str:
    """A glyph of the strip, and under it what it was misread as."""
    # A picture may be as wide as its share of a column of about 500 px.
    side = min(GLYPH, axis.gap * 4.9)
    said = f'<text class="said" x="0" y="{side + SAID - 2:g}" text-anchor="middle">'
    return f"{_image(seen, -side / 2, 0, side, album)}{said}{esc(seen.short)}</text>"


def _image(seen: Seen, x: float, y: float, side: float, album: Album) -> str:
    number, uri = album.printed(seen.image)
    place = f'x="{x:g}" y="{y:g}" width="{side:g}" height="{side:g}"'
    return f'<image data-picture="{number}" href="{uri}" {place}/><rect class="frame" {place}/>'


def _at(x: float, y: float, inner: str, kind: str = "") -> str:
    """Something of a size in px at a place in percent."""
    named = f' class="{kind}"' if kind else ""
    return f'<svg{named} x="{x:g}%" y="{y:g}" width="1" height="1" overflow="visible">{inner}</svg>'


def _y(share: float) -> float:
    return TOP + PLOT * (1 - share)
