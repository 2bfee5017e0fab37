"""What confidence is worth, drawn like the other charts: reliability, and declining."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.results import Calibration, Proportion
from gen.report.markup import esc
from gen.report.words import measured

TOP = 10
PLOT = 190
FOOT = TOP + PLOT

JOINED = 10
"""A bin of fewer answers is drawn, but no line leads to it: chance alone may put it anywhere."""

_Spots = Sequence[tuple[float, Proportion]]
Shown = Sequence[tuple[str, Calibration]]
"""Names and what they stand for: the first is drawn full, the second broken and hollow."""


def reliability(shown: Shown) -> str:
    """Accuracy of the answers in each bin by their mean confidence, with intervals.

    Parameters
    ----------
    shown
        What to draw.
    """
    spots = [(name, [(b.confidence, b.accuracy) for b in part.bins]) for name, part in shown]
    says = ". ".join(f"{name}: {_in_words(each, 'right at')}" for name, each in spots)
    ideal = f'<line class="ideal" x1="0%" x2="100%" y1="{FOOT}" y2="{TOP}"/>'
    under = "confidence; dotted: as often right as sure"
    title = "Accuracy by confidence"
    return _chart(spots, ident="rel", title=title, says=says, under=under, ideal=ideal)


def declined(shown: Shown) -> str:
    """Accuracy of the answers that are left when the least sure are declined, with intervals.

    Parameters
    ----------
    shown
        What to draw.
    """
    spots = [(name, [(k.coverage, k.accuracy) for k in part.kept]) for name, part in shown]
    says = ". ".join(f"{name}: {_in_words(each, 'right of')}" for name, each in spots)
    under = "still answered; the least sure are declined first"
    title = "Accuracy by share answered"
    return _chart(spots, ident="dec", title=title, says=says, under=under)


def _chart(
    spots: Sequence[tuple[str, _Spots]],
    *,
    ident: str,
    title: str,
    says: str,
    under: str,
    ideal: str = "",
) -> str:
    grid = "".join(
        f'<line class="grid" x1="0%" x2="100%" y1="{_y(s):.1f}" y2="{_y(s):.1f}"/>'
        f'<text class="tick" x="0%" dx="-8" y="{_y(s) + 4:.1f}" text-anchor="end">'
        f'{100 * s:.0f} %</text><text class="tick" x="{100 * s:.0f}%" y="{FOOT + 18}" '
        f'text-anchor="{"end" if s == 1 else "middle"}">{100 * s:.0f} %</text>'
        for s in (0.0, 0.5, 1.0)
    )
    drawn = "".join(_curve(each, second=i > 0) for i, (_, each) in enumerate(spots))
    key = "".join(
        f'<g><circle class="{_dot(i > 0)}" cx="6" cy="{FOOT + 54 + 20 * i}" r="4"/>'
        f'<text class="tick" x="18" y="{FOOT + 58 + 20 * i}">{esc(name)}</text></g>'
        for i, (name, _) in enumerate(spots)
    )
    axis = f'<text class="tick" x="50%" y="{FOOT + 36}" text-anchor="middle">{under}</text>'
    height = FOOT + 48 + 20 * len(spots)
    return (
        f'<svg class="chart line reliability" width="100%" height="{height}" role="img" '
        f'aria-labelledby="{ident}-t {ident}-d"><title id="{ident}-t">{title}</title>'
        f'<desc id="{ident}-d">{esc(says)}</desc>{grid}{ideal}{drawn}{axis}{key}</svg>'
    )


def _curve(spots: _Spots, *, second: bool) -> str:
    line = " ".join(
        f"{100 * x:.2f},{100 - 100 * share.value:.2f}" for x, share in spots if share.n >= JOINED
    )
    broken = " broken" if second else ""
    out = [
        f'<svg x="0" y="{TOP}" width="100%" height="{PLOT}" viewBox="0 0 100 100" '
        f'preserveAspectRatio="none" aria-hidden="true"><polyline class="curve{broken}" '
        f'points="{line}"/></svg>'
    ]
    for x, share in spots:
        at = f"{100 * x:.2f}%"
        out.append(
            f'<line class="whisker thin" x1="{at}" x2="{at}" '
            f'y1="{_y(share.high):.1f}" y2="{_y(share.low):.1f}"/>'
            f'<circle class="{_dot(second)}" cx="{at}" cy="{_y(share.value):.1f}" r="4"/>'
        )
    return "".join(out)


def _dot(second: bool) -> str:
    return "dot hollow" if second else "dot"


def _in_words(spots: _Spots, between: str) -> str:
    return ", ".join(f"{measured(share.value)} {between} {measured(x)}" for x, share in spots)


def _y(share: float) -> float:
    return TOP + PLOT * (1 - share)
