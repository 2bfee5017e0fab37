"""One picture a sweep with every model's curve in it, told apart without colour too.

Each model keeps its key (A, B, ...), its dashes and its mark throughout the page; its
colour is the style sheet's. As in the charts of a report, everything stands at
percentages across and at px up and down.
"""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.compared import Compared, ComparedCell, ComparedSweep
from gen.evaluate.results import Curve, Peak, Point, Proportion, Tolerance
from gen.report.album import Album
from gen.report.axis import Axis, lay_out
from gen.report.chart_marks import glyph, placed
from gen.report.compare_keys import DASHES, KEYS, MARKS, shortened
from gen.report.compare_pictures import ReadMark
from gen.report.compare_rows import rows
from gen.report.markup import esc
from gen.report.typeset import typeset
from gen.report.words import by_name, measured, number, quoted

TOP = 26
PLOT = 220
FOOT = TOP + PLOT
LABEL = 17  # px from one name to the next at the right
GLYPH = 48
SAID = 16
"""Room under a glyph for what one model read."""


def chart(
    compared: Compared,
    sweep: ComparedSweep,
    names: Sequence[str],
    *,
    ident: str,
    strip: Sequence[ReadMark] = (),
    album: Album | None = None,
) -> str:
    """All curves of a sweep with their interval bands, or rows where levels are names.

    Parameters
    ----------
    compared, sweep
        What was compared, and which sweep of it.
    names
        What the models are called.
    ident
        Start of the ids in it, of this page alone.
    strip
        A glyph at each level, or nothing.
    album
        Where the pictures of the page are.
    """
    album = Album() if album is None else album
    frame = framed(sweep)
    cells = [compared.cell(name) for name in sweep.of.cells]
    if by_name(frame):
        inner, height, kind = *rows(frame, cells, strip, album), "rows"
    else:
        inner, height, kind = *_lines(frame, cells, names), "line"
        if strip:
            inner += _strip(lay_out(frame), strip, len(names), album)
            height = FOOT + 36 + GLYPH + SAID * len(names) + 4
    kind += " pictured" if strip else ""
    said = esc(typeset(_description(sweep, names, strip)))
    return (
        f'<svg class="chart {kind} several" width="100%" height="{height}" role="img" '
        f'aria-labelledby="{ident}-t {ident}-d">'
        f'<title id="{ident}-t">Accuracy of each model by {esc(sweep.of.side.title)}</title>'
        f'<desc id="{ident}-d">{said}</desc>{inner}</svg>'
    )


def framed(sweep: ComparedSweep) -> Curve:
    """The sweep as the axis of a chart takes it: its levels, and nothing scored."""
    side = sweep.of.side
    nothing = Proportion(0, 1, 0.0, 0.0, 0.0, "")
    points = tuple(
        Point(level, nothing, None, (), None, None, 0.0, cell)
        for level, cell in zip(side.levels, sweep.of.cells, strict=True)
    )
    return Curve(
        perturbation=side.perturbation,
        unit=side.unit,
        nominal=side.nominal,
        options=side.options,
        title=side.title,
        points=points,
        tolerance=Tolerance(0.0, None, None, False, False, ()),
        peak=Peak(side.nominal, 0.0, None, False),
    )


def _description(sweep: ComparedSweep, names: Sequence[str], strip: Sequence[ReadMark]) -> str:
    shown = f" With a mark, {quoted(strip[0].true)}, at its levels." if strip else ""
    if sweep.means is None:
        return f"No level has answers of every model.{shown}"
    told = [
        f"{KEYS[at]}, {name}: {measured(mean)}"
        for at, (name, mean) in enumerate(zip(names, sweep.means, strict=True))
    ]
    return f"Mean accuracy over the levels. {'; '.join(told)}.{shown}"


def _lines(frame: Curve, cells: Sequence[ComparedCell], names: Sequence[str]) -> tuple[str, int]:
    axis = lay_out(frame)
    parts = [
        f'<line class="grid" x1="0%" x2="100%" y1="{_y(share):.1f}" y2="{_y(share):.1f}"/>'
        f'<text class="tick" x="0%" dx="-8" y="{_y(share) + 4:.1f}" text-anchor="end">'
        f"{100 * share:.0f} %</text>"
        for share in (0.0, 0.25, 0.5, 0.75, 1.0)
    ]
    parts.append(_nominal(frame, axis))
    models = range(len(names))
    parts += [_stretched(axis, cells, place) for place in models]
    parts += [_marks(axis, cells, place) for place in models]
    parts += [
        f'<text class="tick{"" if at in axis.phone else " wide"}" x="{axis.xs[at]:g}%" '
        f'y="{FOOT + 20}" text-anchor="middle">'
        f"{esc(typeset(number(frame, point.level)))}</text>"
        for at, point in enumerate(frame.points)
        if at in axis.shown
    ]
    parts.append(_labels(cells, names))
    return "".join(parts), FOOT + 28


def _nominal(frame: Curve, axis: Axis) -> str:
    x = axis.at(float(frame.nominal))
    anchor = "start" if x < 12 else "end" if x > 88 else "middle"
    return (
        f'<line class="nominal" x1="{x:.2f}%" x2="{x:.2f}%" y1="{TOP - 6}" y2="{FOOT}"/>'
        f'<text class="nominal" x="{x:.2f}%" y="{TOP - 12}" text-anchor="{anchor}">nominal</text>'
    )


def _told(
    axis: Axis, cells: Sequence[ComparedCell], place: int
) -> list[list[tuple[float, Proportion]]]:
    """Unbroken stretches of a model's curve; where it failed there is a gap."""
    stretches: list[list[tuple[float, Proportion]]] = [[]]
    for x, cell in zip(axis.xs, cells, strict=True):
        share = cell.accuracies[place]
        if share is None:
            stretches.append([])
        else:
            stretches[-1].append((x, share))
    return [stretch for stretch in stretches if stretch]


def _stretched(axis: Axis, cells: Sequence[ComparedCell], place: int) -> str:
    inner = []
    for stretch in _told(axis, cells, place):
        top = [f"{x:g},{100 - 100 * share.high:.3f}" for x, share in stretch]
        foot = [f"{x:g},{100 - 100 * share.low:.3f}" for x, share in reversed(stretch)]
        middle = [f"{x:g},{100 - 100 * share.value:.3f}" for x, share in stretch]
        inner.append(
            f'<polygon class="m{place} between" points="{" ".join(top + foot)}"/>'
            f'<polyline class="m{place} own" points="{" ".join(middle)}" '
            f'stroke-dasharray="{DASHES[place]}"/>'
        )
    return (
        f'<svg x="0" y="{TOP}" width="100%" height="{PLOT}" viewBox="0 0 100 100" '
        f'preserveAspectRatio="none" aria-hidden="true">{"".join(inner)}</svg>'
    )


def _marks(axis: Axis, cells: Sequence[ComparedCell], place: int) -> str:
    return "".join(
        f'<svg x="{x:g}%" y="{_y(share.value):.1f}" width="1" height="1" overflow="visible">'
        f'<g class="m{place} mark">{MARKS[place]}</g></svg>'
        for stretch in _told(axis, cells, place)
        for x, share in stretch
    )


def _labels(cells: Sequence[ComparedCell], names: Sequence[str]) -> str:
    """Each model's name beside the end of its curve, moved apart where curves end alike."""
    ends = []
    for place in range(len(names)):
        shares = [cell.accuracies[place] for cell in cells if cell.accuracies[place] is not None]
        if shares and shares[-1] is not None:
            ends.append((_y(shares[-1].value) + 4, place))
    ends.sort()
    placed: list[float] = []
    for y, _ in ends:
        placed.append(max(y, placed[-1] + LABEL) if placed else y)
    # What was pushed out below moves up again, and takes the ones above along.
    limit = FOOT + 6.0
    for at in range(len(placed) - 1, -1, -1):
        placed[at] = min(placed[at], limit)
        limit = placed[at] - LABEL
    return "".join(
        f'<text class="m{place} named" x="100%" dx="2" y="{y:.1f}">{KEYS[place]}'
        f'<tspan class="wide" dx="5">{esc(shortened(names[place]))}</tspan></text>'
        for (_, place), y in zip(ends, placed, strict=True)
    )


def _strip(axis: Axis, strip: Sequence[ReadMark], models: int, album: Album) -> str:
    """A glyph under each level that has a label, and under it what each model read."""
    side = min(GLYPH, axis.gap * 4.9)
    top = FOOT + 30
    parts = [
        f'<text class="m{place} named" x="0%" dx="-8" y="{top + side + SAID * (place + 1) - 1:g}" '
        f'text-anchor="end">{KEYS[place]}</text>'
        for place in range(models)
    ]
    for at in sorted(axis.shown):
        mark = strip[at]
        said = "".join(
            f'<text class="read{"" if mark.right(place) else " said"}" x="0" '
            f'y="{side + SAID * (place + 1) - 1:g}" text-anchor="middle">'
            f"{esc(mark.short(place))}</text>"
            for place in range(models)
        )
        wide = "" if at in axis.phone else " wide"
        inner = glyph(mark.seen, -side / 2, 0, side, album) + said
        parts.append(placed(axis.xs[at], top, inner, f"glyph{wide}"))
    return "".join(parts)


def _y(share: float) -> float:
    return TOP + PLOT * (1 - share)
