"""Everything that was compared in one picture: a line each, with a mark for every model."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from gen.report.compare_keys import KEYS, MARKS
from gen.report.compare_lines import INTERVALS, LESS, Line, lines
from gen.report.markup import Markup, esc, table
from gen.report.typeset import typeset
from gen.report.words import count, measured

if TYPE_CHECKING:
    from gen.report.compare_make import Comparison


def glance(comparison: Comparison) -> str:
    """Nominal, all sweeps and all blends: who leads, and how far apart the models are."""
    compared = comparison.compared
    two = compared.models == 2
    heads = ["", "Leads", "0 to 100 %", *KEYS[: compared.models], *([LESS] if two else [])]
    rows = [_row(line) for line in lines(compared)]
    return (
        '<section id="glance" class="glance" aria-labelledby="glance-h">'
        f'<h2 id="glance-h">At a glance</h2>{table("Everything compared", heads, rows)}'
        f'<p class="hint">{esc(typeset(_hint(comparison)))}</p></section>'
    )


def _hint(comparison: Comparison) -> str:
    compared = comparison.compared
    told = [
        "A model leads where it is better than each other one at some level, by a test corrected "
        f"for all {count(compared.tests)} made here, and worse than none at any."
    ]
    if compared.sweeps:
        told.append("Accuracies of a sweep are means over its levels but nominal.")
    if compared.blends:
        told.append("Those of a blend are over all its draws; tested is the first.")
    if compared.models == 2:
        told.append(INTERVALS)
    return " ".join(told)


def _row(line: Line) -> list[str]:
    title, leads = line.title, line.leads_words
    return [
        Markup(f'<a href="#{line.ident}">{esc(title)}</a>') if line.ident else title,
        leads if line.leads is None else Markup(f'<span class="key m{line.leads}">{leads}</span>'),
        Markup(_dots(line.shares)),
        *("" if share is None else typeset(measured(share)) for share in line.shares),
        *([_together(line.less)] if line.less else []),
    ]


def _together(less: str) -> Markup:
    """A difference whose interval isn't broken between lines."""
    value, _, interval = typeset(less).partition(" (")
    ends = f' <span class="ends">({esc(interval)}</span>' if interval else ""
    return Markup(f"{esc(value)}{ends}")


def _dots(shares: Sequence[float | None]) -> str:
    """All models on one line from 0 to 100 %, and how far they are apart."""
    told = [(100 * share, place) for place, share in enumerate(shares) if share is not None]
    if not told:
        return ""
    marks = "".join(
        f'<svg x="{x:.2f}%" y="9" width="1" height="1" overflow="visible">'
        f'<g class="m{place} mark">{MARKS[place]}</g></svg>'
        for x, place in reversed(told)
    )
    return (
        '<svg class="chart dots" width="100%" height="18" aria-hidden="true">'
        '<line class="track" x1="0%" x2="100%" y1="9" y2="9"/>'
        f'<line class="apart" x1="{min(told)[0]:.2f}%" x2="{max(told)[0]:.2f}%" y1="9" y2="9"/>'
        f"{marks}</svg>"
    )
