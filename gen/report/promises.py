"""The part of the page that holds requirements to the evidence."""

from __future__ import annotations

from gen.evaluate.results import Evaluation, Judged
from gen.report.figure_words import worst_place
from gen.report.markup import Markup, table
from gen.report.typeset import typeset
from gen.report.words import interval_words, measured, percent


def requirements(evaluation: Evaluation) -> str:
    """A table of what the recipe requires; nothing where it requires nothing."""
    if not evaluation.requirements:
        return ""
    heads = ("Required", "Kept", "Worst level", "Accuracy there", "Judged on", "Asked")
    return (
        '<section id="required" aria-labelledby="req-h"><h2 id="req-h">What was required</h2>'
        + table("Requirements", heads, [_row(part, evaluation) for part in evaluation.requirements])
        + "</section>"
    )


def _row(part: Judged, evaluation: Evaluation) -> tuple[str, ...]:
    word, kind = ("kept", "yes") if part.kept else ("missed", "no")
    seen = part.why or "nothing scored"
    if part.accuracy is not None:
        seen = interval_words(part.accuracy) + (f"; {part.why}" if part.why else "")
    where = worst_place(part.level, part.curve, evaluation).removeprefix("at ")
    return (
        typeset(part.says),
        Markup(f'<span class="{kind}">{word}</span>'),
        typeset(where or ("nominal" if part.level is not None else "")),
        seen,
        part.judged_on if part.value is None else f"{part.judged_on}, {measured(part.value)}",
        percent(part.least) if part.difference is None else measured(part.least),
    )
