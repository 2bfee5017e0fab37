"""What confidence is worth at one level: a small reliability drawing, and the bins behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from gen.evaluate.results import Calibration, Point, ReliabilityBin
from gen.report.markup import esc
from gen.report.panel_table import PanelTable
from gen.report.typeset import typeset
from gen.report.words import count, measured

LEFT, TOP, SIDE = 44, 22, 104
"""In px; the plot is a square, so that what is right as often as sure is its diagonal."""
TALLEST = 26
"""The bar of the bin with most answers, in px."""
KEY = "dotted: right as often as sure; bars: answers"

_FOOT = TOP + SIDE
_WIDTH, _HEIGHT = LEFT + SIDE + 12, _FOOT + 38


@dataclass(frozen=True)
class SureHere:
    """Confidence held against accuracy, bin by bin.

    Attributes
    ----------
    title
        Of the drawing and of its table.
    says
        The drawing in words.
    lines
        What it comes to.
    drawn
        Paths, in px: "bars" as high as a bin has answers, "ends" of the intervals of
        accuracy, and "spots" at mean confidence across and accuracy down.
    wide
        How wide a bar is, in px.
    table
        The bins in figures.
    """

    title: str
    says: str
    lines: tuple[str, ...]
    drawn: dict[str, str]
    wide: float
    table: PanelTable

    def drawing(self, says: str = "") -> str:
        """The drawing, as large as it is; with its title where nothing else is to be said."""
        ticks = "".join(
            f'<line class="grid" x1="{LEFT}" x2="{LEFT + SIDE}" y1="{_y(s):g}" y2="{_y(s):g}"/>'
            f'<text class="tick" x="{LEFT - 6}" y="{_y(s) + 4:g}" text-anchor="end">'
            f'{100 * s:.0f}\u00a0%</text><text class="tick" x="{_x(s):g}" y="{_FOOT + 16}" '
            f'text-anchor="middle">{100 * s:.0f}</text>'
            for s in (0.0, 0.5, 1.0)
        )
        paths = "".join(
            f'<path class="{kind}" stroke-width="{wide:g}" d="{self.drawn[kind]}"/>'
            for kind, wide in (("bars", self.wide), ("ends", 1), ("spots", 7))
        )
        return (
            f'<svg class="chart sure-here" width="{_WIDTH}" height="{_HEIGHT}" role="img" '
            f'aria-label="{esc(says or self.title)}">'
            f'<text class="tick" x="0" y="11">read rightly</text>{ticks}'
            f'<line class="ideal" x1="{LEFT}" x2="{LEFT + SIDE}" y1="{_FOOT}" y2="{TOP}"/>'
            f'<g>{paths}</g><text class="tick" x="{LEFT + SIDE / 2:g}" '
            f'y="{_FOOT + 33}" text-anchor="middle">% sure</text></svg>'
        )

    def markup(self) -> str:
        """The drawing with what it comes to, and its table, on demand."""
        lines = "".join(f"<li>{esc(line)}</li>" for line in self.lines)
        return (
            '<details class="sure"><summary>How sure it is at this level</summary>'
            f'<div class="seen"><div>{self.drawing()}<p class="key">{KEY}</p></div>'
            f'<ul data-part="sure-lines">{lines}</ul>'
            f'<div data-part="sure-table">{self.table.markup()}</div></div></details>'
        )

    def values(self) -> dict[str, Any]:
        """The same for the script of the page, which keeps the heads of the table."""
        rows = self.table.values()["rows"]
        return {"title": self.title, "lines": self.lines, "drawn": self.drawn, "rows": rows}


def sure_here(point: Point, where: str) -> SureHere | None:
    """What confidence is worth at one level; None where the model gives labels only.

    Parameters
    ----------
    point
        The level.
    where
        Its name: "at nominal", "at +3 px along x (right)".
    """
    part = point.calibration
    if part is None or not part.bins:
        return None
    told = ", ".join(
        f"{measured(each.accuracy.value)} right of {count(each.n)} at {measured(each.confidence)}"
        for each in part.bins
    )
    title = typeset(f"Accuracy by confidence: {where}")
    return SureHere(
        title=title,
        says=typeset(f"{title}: {told}"),
        lines=tuple(typeset(line) for line in _lines(point, part)),
        drawn=_drawn(part),
        wide=round(SIDE / how_many(part) - 1, 1),
        table=bins_table(part, title),
    )


def _drawn(part: Calibration) -> dict[str, str]:
    most = max(each.n for each in part.bins)
    bars, ends, spots = "", "", ""
    for each in part.bins:
        bars += f"M{_x((each.low + each.high) / 2):g} {_FOOT}v{-TALLEST * each.n / most:.1f}"
        x, share = _x(each.confidence), each.accuracy
        ends += f"M{x:g} {_y(share.high):g}V{_y(share.low):g}"
        spots += f"M{x:g} {_y(share.value):g}h0"
    return {"bars": bars, "ends": ends, "spots": spots}


def how_many(part: Calibration) -> int:
    """How many bins of equal width there are, those without an answer counted too."""
    first = part.bins[0]
    return round(1 / (first.high - first.low))


def bins_table(part: Calibration, caption: str) -> PanelTable:
    """The bins of a level in figures: edges, answers, accuracy with its interval."""
    heads = ("% sure", "Answers", "% right", "95 % interval")
    rows = tuple(
        (
            (edges(each), ""),
            (count(each.n), ""),
            (f"{100 * each.accuracy.value:.1f}", ""),
            (f"{100 * each.accuracy.low:.1f} to {100 * each.accuracy.high:.1f}", ""),
        )
        for each in part.bins
    )
    return PanelTable("bins", typeset(caption), heads, rows)


def edges(part: ReliabilityBin) -> str:
    """From which confidence to which, in percent: "86.7 to 93.3"."""
    return f"{100 * part.low:.3g} to {100 * part.high:.3g}"


def _lines(point: Point, part: Calibration) -> list[str]:
    told = point.accuracy.value + part.overconfidence
    lines = [
        f"{measured(told)} sure on the whole, {measured(point.accuracy.value)} read rightly",
        f"calibration error {measured(part.ece)}, over {how_many(part)} bins of equal width",
    ]
    if part.kept and part.kept[-1].coverage < 1:
        least = part.kept[-1]
        lines.append(
            f"of the {measured(least.coverage)} that it is surest of, "
            f"{measured(least.accuracy.value)} read rightly"
        )
    return lines


def _x(share: float) -> float:
    return round(LEFT + SIDE * share, 1)


def _y(share: float) -> float:
    return round(TOP + SIDE * (1 - share), 1)
