"""A diagnosis for a terminal: the answer, the remedies, what is ruled out, and a glyph."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from gen.diagnose.set_finding import SetFinding
from gen.report.diagnosis_drawn import PLAIN_SHADES, SHADES, side_by_side
from gen.report.diagnosis_words import named, tried
from gen.report.terminal import one_line, wrapped
from gen.report.words import interval_words, listed, p_figure, p_words, percent, points, quoted

if TYPE_CHECKING:
    from gen.report.diagnosis_make import DiagnosisReport

NARROWEST = 40
_DIFFERENCES = 4  # from the training glyphs that are told, the clearest first
_LEAST_NAME = 24  # letters of a remedy on one line, before a table is given up


def as_text(report: DiagnosisReport, *, width: int = 80, blocks: bool = True) -> str:
    """A diagnosis in plain text.

    Parameters
    ----------
    report
        What was found.
    width
        Columns of the terminal; fewer than 40 are taken as 40.
    blocks
        Whether it shows block characters; else glyphs are drawn in ASCII.

    Notes
    -----
    Where to find the mended glyphs isn't said: that is for whoever saved them.
    """
    width = max(width, NARROWEST)
    found = report.diagnosis
    lines = [*wrapped(report.headline, width), ""]
    for said in found.says:
        lines += wrapped(said, width, "* ", "  ")
    lines += ["", *_remedies(report, width)]
    for finding in found.checks:
        if isinstance(finding, SetFinding) and finding.found:
            lines += wrapped(f"{finding.kind}: {finding.says}", width, f"{'found':<10}", " " * 10)
    for one in [each for each in found.differences if each.clear][:_DIFFERENCES]:
        unit = f" {one.measure.unit}" if one.measure.unit else ""
        told = f"{one.measure.title} differs by {one.shift.value:+.3g}{unit} from the training"
        lines += wrapped(f"{told} glyphs", width, f"{'differs':<10}", " " * 10)
    for each in found.variations:
        told = f"{each.title} from {each.low:g} to {each.high:g} {each.unit}".rstrip()
        told += f", which costs the model {100 * each.loss:.1f} points on its training glyphs"
        lines += wrapped(told, width, f"{'to train':<10}", " " * 10)
    lines += _ruled_out(report, width)
    lines += _glyph(report, width, SHADES if blocks else PLAIN_SHADES)
    if report.mended is not None and report.mended.images is None:
        lines += ["", *wrapped(report.mended.says, width, f"{'to try':<10}", " " * 10)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _remedies(report: DiagnosisReport, width: int) -> list[str]:
    """A line a remedy, where it fits; else a paragraph."""
    found = report.diagnosis
    base = found.baseline
    as_they_are = f"{interval_words(base)}, {base.correct} of {base.n}; floor "
    lines = wrapped(as_they_are + percent(found.floor), width, f"{'as is':<10}", " " * 10)
    if not found.remedies:
        return lines
    rows = [("remedy", "accuracy (95 %)", "gain", "p, Holm", "where to change it")]
    rows += [
        (
            one_line(named(each)),
            interval_words(each.accuracy),
            points(each.gain),
            p_figure(each.p_value),
            each.side,
        )
        for each in found.remedies
    ]
    told = _columns(rows, width)
    if max(map(len, told)) > width:
        told = _columns([row[:-1] for row in rows], width)  # the first one's the answer says
    if max(map(len, told)) > width:
        told = []
        for (name, share, gain, _, side), each in zip(rows[1:], found.remedies, strict=True):
            said = f"{name}: {share}, {gain}, {p_words(each.p_value)}; {side}"
            told += wrapped(said, width, "", "  ")
    return [*lines, "", *told, ""]


def _columns(rows: Sequence[Sequence[str]], width: int) -> list[str]:
    """Rows as columns, the first broken over lines where that makes them fit."""
    wide = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    room = width - sum(wide[1:]) - 2 * (len(wide) - 1)
    wide[0] = min(wide[0], max(room, _LEAST_NAME))
    lines = []
    for row in rows:
        name, *more = textwrap.wrap(row[0], wide[0], break_on_hyphens=False)
        cells = zip((name, *row[1:]), wide, strict=True)
        lines.append("  ".join(f"{cell:<{size}}" for cell, size in cells).rstrip())
        lines += [f"  {rest}" for rest in more]
    return lines


def _ruled_out(report: DiagnosisReport, width: int) -> list[str]:
    found = report.diagnosis
    if not found.tried:
        return []
    said = tried(found)
    if found.ruled_out:
        names = listed(found.ruled_out, len(found.ruled_out))
        said += f"; these give nothing back: {names}"
    return wrapped(said, width, f"{'ruled out':<10}", " " * 10)


def _glyph(report: DiagnosisReport, width: int, shades: str) -> list[str]:
    """The first example of the first remedy."""
    if not report.examples or not report.examples[0]:
        return []
    one = report.examples[0][0]
    heads = (f"before: read {quoted(one.read)}", f"after: read {quoted(one.read_after)}")
    if not one.pictures_change:
        return []
    pair = side_by_side(one.before, one.after, heads, shades)
    if max(map(len, pair)) > width:
        return []
    return ["", f"a glyph of class {quoted(one_line(one.labelled))}", "", *map(one_line, pair)]
