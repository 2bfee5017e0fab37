"""A comparison as plain text for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.report.compare_chart import KEYS
from gen.report.compare_findings import split
from gen.report.compare_words import mean_words
from gen.report.terminal import one_line, wrapped
from gen.report.words import count, interval_words, measured

if TYPE_CHECKING:
    from gen.report.compare_make import Comparison

NARROWEST = 40


def as_text(comparison: Comparison, *, width: int = 80) -> str:
    """A summary: the verdict, the findings, the models and a line a sweep.

    Parameters
    ----------
    comparison
        What was compared.
    width
        Columns of the terminal; fewer than 40 are taken as 40.
    """
    width = max(width, NARROWEST)
    lines = [*wrapped(comparison.verdict, width, "", ""), ""]
    told_now, later = split(comparison.findings)
    for number, said in enumerate(told_now, 1):
        first = f"{number}. "
        lines += wrapped(said.says, width, first, " " * len(first))
        if said.measured:
            lines += wrapped(said.measured, width, " " * len(first), " " * len(first))
    if later:
        lines.append(f"   {len(later)} more pairs are in compare.html")
    lines.append("")
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
        lines += wrapped(told, width, f"{name:<10}", " " * 10)
    lines += _sweeps(comparison, width)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _sweeps(comparison: Comparison, width: int) -> list[str]:
    """A line a sweep, where it fits; else two."""
    compared = comparison.compared
    if not compared.sweeps:
        return []
    two = compared.models == 2
    keys = [f"mean {KEYS[at]}" for at in range(compared.models)]
    rows = [("sweep", "leads", *keys, *(["A less B"] if two else []))]
    for sweep in compared.sweeps:
        means = ["" for _ in keys] if sweep.means is None else [measured(m) for m in sweep.means]
        leads = "nobody" if sweep.leader is None else KEYS[sweep.leader]
        row = (one_line(sweep.of.side.title), leads, *means)
        rows.append((*row, mean_words(sweep.pairs[0].mean)) if two else row)
    wide = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    lines = [
        "  ".join(f"{cell:<{size}}" for cell, size in zip(row, wide, strict=True)) for row in rows
    ]
    if max(len(line.rstrip()) for line in lines) > width:
        lines = []
        for row in rows[1:]:
            told = [f"{head} {cell}" for head, cell in zip(rows[0][1:], row[1:], strict=True)]
            lines += wrapped(f"{row[0]}: {', '.join(told)}", width, "", "  ")
    return ["", *lines]
