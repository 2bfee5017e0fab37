"""What drawings show, for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from gen.diagnose.measures import MEASURES, QUANTILES
from gen.report.measure_set import Drawings, MeasuredSet
from gen.report.measure_words import difference_heads, difference_row, quantile_row

_INDENT = "  "


def as_text(drawings: Drawings, *, width: int = 80) -> str:
    """Verdict, findings, quantiles, differences, and what was ruled out.

    Parameters
    ----------
    drawings
        A measured set.
    width
        Columns of the terminal; tables keep their own width.
    """
    lines = [drawings.verdict, ""]
    for finding in drawings.found:
        lines += _paragraph(f"{finding.kind}: {finding.says}", "* ", width)
    if drawings.found:
        lines.append("")
    lines += _quantiles(drawings.here)
    if drawings.against is not None:
        lines += ["", f"Against {drawings.against.name}, largest effect first", ""]
        lines += _differences(drawings)
    lines += ["", "Looked for and not found", ""]
    for finding in drawings.findings:
        if not finding.found:
            lines += _paragraph(f"{finding.kind}: {finding.says}", "  ", width)
    return "\n".join(lines)


def _quantiles(here: MeasuredSet) -> list[str]:
    heads = ["measure", *(f"{share} %" for share in QUANTILES), "told by"]
    rows = [quantile_row(here.measures, name) for name in MEASURES]
    return _table(heads, rows)


def _differences(drawings: Drawings) -> list[str]:
    heads = difference_heads("there")
    rows = [difference_row(row) for row in drawings.differences]
    return _table(heads, rows)


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[i]) for row in (heads, *rows)) for i in range(len(heads))]
    return [
        "  ".join(
            cell.ljust(size) if place == 0 else cell.rjust(size)
            for place, (cell, size) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in (heads, *rows)
    ]


def _paragraph(text: str, first: str, width: int) -> list[str]:
    return textwrap.wrap(text, max(width, 40), initial_indent=first, subsequent_indent=_INDENT)
