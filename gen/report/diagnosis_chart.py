"""Accuracies as bars with their intervals: as the glyphs are, and after each remedy."""

from __future__ import annotations

from gen.diagnose.results import Diagnosis
from gen.evaluate.results import Proportion
from gen.report.diagnosis_words import named
from gen.report.markup import esc
from gen.report.words import interval_words, percent

ROW = 50
_NAME, _BAR, _HIGH = 16, 24, 14
_FOOT = 22
_LONGEST = 46
"""Letters of a name; more would leave a narrow screen. The table has all of it."""


def bars(found: Diagnosis) -> str:
    """One chart; text keeps its size at any width."""
    rows = [("as they are", found.baseline, "bar")]
    rows += [(named(each), each.accuracy, "bar after") for each in found.remedies]
    height = ROW * len(rows) + _FOOT
    told = "; ".join(f"{name}: {interval_words(share)}" for name, share, _ in rows)
    parts = [_row(ROW * at, *row) for at, row in enumerate(rows)]
    return (
        f'<svg class="chart bars" width="100%" height="{height}" role="img" '
        f'aria-label="Accuracy with its 95 % interval: {esc(told)}">'
        f"{_floor(found.floor, height - _FOOT)}{''.join(parts)}</svg>"
    )


def _row(top: int, name: str, share: Proportion, kind: str) -> str:
    middle = top + _BAR + _HIGH / 2
    low, high, value = (_x(one) for one in (share.low, share.high, share.value))
    ends = "".join(
        f'<line class="whisker" x1="{x}" x2="{x}" y1="{middle - 4:g}" y2="{middle + 4:g}"/>'
        for x in (low, high)
    )
    short = name if len(name) <= _LONGEST else f"{name[: _LONGEST - 1]}\u2026"
    return (
        f'<text class="halo" x="0" y="{top + _NAME}"><tspan class="name">{esc(short)}</tspan>'
        f'<tspan class="wide" dx="8">{esc(interval_words(share))}</tspan></text>'
        f'<rect class="{kind}" x="0" y="{top + _BAR}" width="{value}" height="{_HIGH}"/>'
        f'<line class="track" x1="0" x2="100%" y1="{top + _BAR + _HIGH:g}" '
        f'y2="{top + _BAR + _HIGH:g}"/>'
        f'<line class="whisker" x1="{low}" x2="{high}" y1="{middle:g}" y2="{middle:g}"/>{ends}'
    )


def _floor(floor: float, bottom: int) -> str:
    x = _x(floor)
    side = "end" if floor > 0.5 else "start"
    return (
        f'<line class="floor" x1="{x}" x2="{x}" y1="{_BAR}" y2="{bottom}"/>'
        f'<text class="floor" x="{x}" y="{bottom + 16}" text-anchor="{side}">'
        f"floor {esc(percent(floor))}</text>"
    )


def _x(share: float) -> str:
    return f"{100 * min(max(share, 0.0), 1.0):.2f}%"
