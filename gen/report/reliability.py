"""The reliability curve: accuracy by confidence, drawn like the other charts."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.results import Calibration
from gen.report.markup import esc
from gen.report.words import measured

TOP = 10
PLOT = 190
FOOT = TOP + PLOT


def reliability(shown: Sequence[tuple[str, Calibration]]) -> str:
    """Accuracy of the answers in each bin by their mean confidence, with intervals.

    Parameters
    ----------
    shown
        Names and what they stand for: the first is drawn full, the second broken
        and hollow.
    """
    says = ". ".join(f"{name}: {_in_words(part)}" for name, part in shown)
    grid = "".join(
        f'<line class="grid" x1="0%" x2="100%" y1="{_y(s):.1f}" y2="{_y(s):.1f}"/>'
        f'<text class="tick" x="0%" dx="-8" y="{_y(s) + 4:.1f}" text-anchor="end">'
        f'{100 * s:.0f} %</text><text class="tick" x="{100 * s:.0f}%" y="{FOOT + 18}" '
        f'text-anchor="middle">{100 * s:.0f} %</text>'
        for s in (0.0, 0.5, 1.0)
    )
    ideal = f'<line class="ideal" x1="0%" x2="100%" y1="{FOOT}" y2="{TOP}"/>'
    drawn = "".join(_curve(part, second=i > 0) for i, (_, part) in enumerate(shown))
    key = "".join(
        f'<g><circle class="{_dot(i > 0)}" cx="6" cy="{FOOT + 54 + 20 * i}" r="4"/>'
        f'<text class="tick" x="18" y="{FOOT + 58 + 20 * i}">{esc(name)}</text></g>'
        for i, (name, _) in enumerate(shown)
    )
    axis = (
        f'<text class="tick" x="50%" y="{FOOT + 36}" text-anchor="middle">'
        "confidence; dotted: as often right as sure</text>"
    )
    height = FOOT + 48 + 20 * len(shown)
    return (
        f'<svg class="chart line reliability" width="100%" height="{height}" role="img" '
        'aria-labelledby="rel-t rel-d"><title id="rel-t">Accuracy by confidence</title>'
        f'<desc id="rel-d">{esc(says)}</desc>{grid}{ideal}{drawn}{axis}{key}</svg>'
    )


def _curve(part: Calibration, *, second: bool) -> str:
    line = " ".join(
        f"{100 * b.confidence:.2f},{100 - 100 * b.accuracy.value:.2f}" for b in part.bins
    )
    broken = " broken" if second else ""
    out = [
        f'<svg x="0" y="{TOP}" width="100%" height="{PLOT}" viewBox="0 0 100 100" '
        f'preserveAspectRatio="none" aria-hidden="true"><polyline class="curve{broken}" '
        f'points="{line}"/></svg>'
    ]
    for b in part.bins:
        x = 100 * b.confidence
        out.append(
            f'<line class="whisker thin" x1="{x:.2f}%" x2="{x:.2f}%" '
            f'y1="{_y(b.accuracy.high):.1f}" y2="{_y(b.accuracy.low):.1f}"/>'
            f'<circle class="{_dot(second)}" cx="{x:.2f}%" cy="{_y(b.accuracy.value):.1f}" r="4"/>'
        )
    return "".join(out)


def _dot(second: bool) -> str:
    return "dot hollow" if second else "dot"


def _in_words(part: Calibration) -> str:
    return ", ".join(
        f"{measured(b.accuracy.value)} right at {measured(b.confidence)}" for b in part.bins
    )


def _y(share: float) -> float:
    return TOP + PLOT * (1 - share)
