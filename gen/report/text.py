"""The report as plain text for a terminal."""

from __future__ import annotations

import re
import textwrap

from gen.evaluate.results import Curve, Evaluation
from gen.report.causes import is_switch
from gen.report.drawn_pairs import pair_lines, pairs_of
from gen.report.few import beside_words
from gen.report.figures import figures
from gen.report.finding import Finding
from gen.report.findings import verdict
from gen.report.run import RunInfo
from gen.report.shown import Shown
from gen.report.summary_lines import summary_lines
from gen.report.terminal import one_line, wrapped
from gen.report.words import (
    amount,
    ends_words,
    interval_words,
    percent,
    range_words,
)

BLOCKS = "\u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588"
# The same eight heights where blocks can't be shown, light to dark.
PLAIN = "_.,-=+*#"
NARROWEST = 40
_STAR = "* surer than chance; the findings say whether it matters"
NARROWEST_COLUMN = 16
# A word as a shell takes it: what is between quotes holds together.
_WORD = re.compile(r"(?:'[^']*'|[^\s'])+")


def as_text(
    evaluation: Evaluation,
    findings: tuple[Finding, ...],
    run: RunInfo,
    shown: Shown | None = None,
    *,
    width: int = 80,
    blocks: bool = True,
) -> str:
    """A summary: the verdict, the findings, the baseline, a line a sweep, and a glyph that breaks.

    Parameters
    ----------
    evaluation, findings, run
        What was scored, what it says, and how it was run.
    shown
        Pictures to draw some of; None to draw none.
    width
        Columns of the terminal; fewer than 40 are taken as 40.
    blocks
        Whether curves and glyphs are drawn with block characters; else with ASCII.
    """
    width = max(width, NARROWEST)
    scored = interval_words(evaluation.baseline.accuracy)
    facts = [
        ("recipe", evaluation.recipe),
        ("model", evaluation.model),
        ("glyphs", evaluation.glyphs),
        *(("left out", line) for line in evaluation.left_out),
        ("nominal", f"{scored} read rightly; {beside_words(evaluation)}"),
        *summary_lines(evaluation),
    ]
    lines = [verdict(findings).upper(), ""]
    for number, finding in enumerate(findings, 1):
        first = f"{number}. "
        indent = " " * len(first)
        lines += wrapped(finding.says, width, first, indent)
        under = figures(finding, evaluation)
        if under:
            lines += wrapped(under, width, indent, indent)
    lines.append("")
    before = ""
    for name, said in facts:
        lines += wrapped(said, width, f"{'' if name == before else name:<10}", " " * 10)
        before = name
    if evaluation.curves:
        lines += ["", *_sweeps(evaluation, width, BLOCKS if blocks else PLAIN)]
    pairs = pairs_of(evaluation, findings, shown) if shown is not None and shown.sweeps else ()
    if pairs:
        lines += ["", *pair_lines(pairs, width=width, blocks=blocks)]
    if run.command:
        lines += ["", *_command(run.command, width)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def small_curve(curve: Curve, characters: str = BLOCKS) -> str:
    """The accuracies of a curve as one character each, 0 to 100 %."""
    top = len(characters) - 1
    return "".join(characters[min(top, int(p.accuracy.value * (top + 1)))] for p in curve.points)


def _sweeps(evaluation: Evaluation, width: int, characters: str) -> list[str]:
    """Columns, a line a sweep, where there is room; else two lines a sweep."""
    keeps = f"keeps {percent(evaluation.floor)}"
    rows = [("sweep", "0-100 %", keeps, "", "peak")]
    for curve in evaluation.curves:
        star = " *" if curve.peak.off_nominal else ""
        # Of a fault that is there or isn't, only a peak with it is worth a word.
        peak = "" if is_switch(curve) and not star else amount(curve, curve.peak.level) + star
        rows.append(
            (
                one_line(curve.title),
                small_curve(curve, characters),
                one_line(range_words(curve, curve.tolerance)),
                ends_words(curve),
                one_line(peak),
            )
        )
    note = []
    if any(row[3] for row in rows):
        of = evaluation.resampled or "glyphs"
        note += wrapped(f"( ) 95 % interval of each end, by bootstrap of {of}", width, "", "    ")
    if any(row[4].endswith(" *") for row in rows):
        note += wrapped(_STAR, width, "", "  ")
    note = ["", *note] if note else []
    wide = [max(len(row[i]) for row in rows) for i in (0, 1, 4)]
    most = max(max(len(row[2]), len(row[3])) for row in rows)
    room = width - 6 - sum(wide)
    if room >= min(most, NARROWEST_COLUMN):
        sizes = [wide[0], wide[1], min(most, room), wide[2]]
        return [line for row in rows for line in _columns(row, sizes)] + note
    out = []
    for title, drawn, kept, ends, peak in rows[1:]:
        out += wrapped(f"{title:<{wide[0]}}  {drawn}", width, "", "  ")
        tail = f"; peak {peak}" if peak else ""
        out += wrapped(f"{keeps}: {' '.join(filter(None, (kept, ends)))}{tail}", width, "  ", "  ")
    return out + note


def _columns(row: tuple[str, str, str, str, str], sizes: list[int]) -> list[str]:
    """One row; a long list of rules, and the intervals of the ends, go on in their column."""
    title, drawn, range_, ends, peak = row
    kept = textwrap.wrap(range_, sizes[2], break_on_hyphens=False) or [""]
    kept += textwrap.wrap(ends, sizes[2], break_on_hyphens=False)
    first = (title, drawn, kept[0], peak)
    lines = ["  ".join(f"{cell:<{size}}" for cell, size in zip(first, sizes, strict=True))]
    indent = " " * (sizes[0] + sizes[1] + 4)
    return lines + [indent + more.replace("\u00a0", " ") for more in kept[1:]]


def _command(command: str, width: int) -> list[str]:
    """A command line that a shell still takes when it is copied: broken between words."""
    words = _WORD.findall(one_line(command))
    lines = [f"{'again':<10}"]
    for word in words:
        if lines[-1].strip() != "again" and len(lines[-1]) + len(word) + 3 > width:
            lines[-1] += " \\"
            lines.append(" " * 12 + word)
        else:
            lines[-1] += word if lines[-1].endswith(" ") else f" {word}"
    return lines
