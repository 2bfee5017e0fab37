"""A comparison as plain text for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.report.compare_drawn import parted_lines
from gen.report.compare_findings import split
from gen.report.compare_keys import KEYS
from gen.report.compare_lines import INTERVALS, LESS, lines
from gen.report.terminal import one_line, wrapped
from gen.report.words import count, interval_words, measured

if TYPE_CHECKING:
    from gen.report.compare_make import Comparison

NARROWEST = 40


def as_text(comparison: Comparison, *, width: int = 80, blocks: bool = True) -> str:
    """A summary: the verdict, the findings, the models, a line a sweep, and marks as proof.

    Parameters
    ----------
    comparison
        What was compared.
    width
        Columns of the terminal; fewer than 40 are taken as 40.
    blocks
        Whether marks are drawn with block characters; else with ASCII.
    """
    width = max(width, NARROWEST)
    out = [*wrapped(comparison.verdict, width, "", ""), ""]
    told_now, later = split(comparison.findings)
    for number, said in enumerate(told_now, 1):
        first = f"{number}. "
        out += wrapped(said.says, width, first, " " * len(first))
        if said.measured:
            out += wrapped(said.measured, width, " " * len(first), " " * len(first))
    if later:
        out.append(f"   {len(later)} more pairs are in compare.html")
    out.append("")
    first_model = comparison.models[0]
    nominal = comparison.compared.cells[0].accuracies
    facts = [
        ("recipe", first_model.recipe),
        ("glyphs", f"{first_model.glyphs}; {count(comparison.compared.glyphs)} compared"),
        ("chance", comparison.chance_words.rstrip(".")),
        *(
            (
                KEYS[at],
                f"{name}, nominal "
                + ("no answers" if (share := nominal[at]) is None else interval_words(share)),
            )
            for at, name in enumerate(comparison.names)
        ),
    ]
    for name, told in facts:
        out += wrapped(told, width, f"{name:<10}", " " * 10)
    out += _lines(comparison, width)
    marks = parted_lines(comparison, width=width, blocks=blocks)
    out += ["", *marks] if marks else []
    return "\n".join(line.rstrip() for line in out) + "\n"


def _lines(comparison: Comparison, width: int) -> list[str]:
    """A line for all that was compared, where it fits; else two."""
    compared = comparison.compared
    keys = KEYS[: compared.models]
    rows = [("", "leads", *keys, *([LESS] if compared.models == 2 else []))]
    for line in lines(compared):
        shares = ["none" if share is None else measured(share) for share in line.shares]
        row = (one_line(line.title), line.leads_words, *shares)
        rows.append((*row, line.less) if line.less else row)
    wide = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    out = [
        "  ".join(f"{cell:<{size}}" for cell, size in zip(row, wide, strict=True)) for row in rows
    ]
    if max(len(line.rstrip()) for line in out) > width:
        out = []
        for row in rows[1:]:
            told = [f"{head} {cell}" for head, cell in zip(rows[0][2:], row[2:], strict=True)]
            out += wrapped(f"{row[0]} (ahead: {row[1]}): {', '.join(told)}", width, "", "  ")
    note = wrapped(INTERVALS, width, "", "") if compared.models == 2 else []
    return ["", *out, *note]
