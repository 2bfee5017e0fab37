"""Requirements with their evidence, as lines that stop a build and say why."""

from __future__ import annotations

from gen.core.plain_text import printable
from gen.evaluate.results import Evaluation, Judged
from gen.report.figure_words import requirement_figures
from gen.report.values import requirement_values
from gen.report.words import count


def evidence(part: Judged, evaluation: Evaluation) -> str:
    """What a requirement was judged on, counts included, in one line.

    "worst at -2 px along x (left): 91.0 % (83.8 to 95.2 %), asked 95 %; 91 of 100 read rightly"
    """
    # A model's own words may be in it, and must neither break the line nor steer a terminal.
    said = printable(requirement_figures(requirement_values(part), evaluation))
    # Build servers and logs don't know every letter.
    said = said.translate({0x201C: '"', 0x201D: '"'})
    if part.accuracy is None:
        return said
    return f"{said}; {count(part.accuracy.correct)} of {count(part.accuracy.n)} read rightly"


def name_of(part: Judged) -> str:
    """A requirement in words, with what it is judged on where that isn't the usual."""
    says = printable(part.says)
    return says if part.judged_on == "estimate" else f"{says}, at the {part.judged_on}"


def missed_lines(evaluation: Evaluation) -> list[str]:
    """A line for each requirement that is missed."""
    return [
        f"missed    {name_of(part)}: {evidence(part, evaluation)}"
        for part in evaluation.requirements
        if not part.kept
    ]


def account(evaluation: Evaluation) -> str:
    """Every requirement with its evidence under it, those that are missed first."""
    parts = sorted(evaluation.requirements, key=lambda part: part.kept)
    missed = sum(not part.kept for part in parts)
    of = f"{len(parts)} {'requirement' if len(parts) == 1 else 'requirements'}"
    lines = [
        f'{missed} of {of} missed, of the recipe "{printable(evaluation.recipe)}"',
        f"  model   {printable(evaluation.model)}",
        f"  glyphs  {printable(evaluation.glyphs)}",
    ]
    for part in parts:
        lines.append(f"  {'kept  ' if part.kept else 'missed'}  {name_of(part)}")
        lines.append(f"          {evidence(part, evaluation)}")
    return "\n".join(lines)
