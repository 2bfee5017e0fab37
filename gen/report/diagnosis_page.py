"""diagnosis.html: why a model fails, in one file that fetches nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.report.diagnosis_chart import bars
from gen.report.diagnosis_remedies import each_remedy, in_front, ruled_out
from gen.report.diagnosis_tables import (
    checks,
    differences,
    expected,
    how_made,
    remedies,
    variations,
)
from gen.report.diagnosis_words import EXPLAINED, HEALTHY
from gen.report.markup import esc
from gen.report.typeset import typeset
from gen.report.whole_page import whole_page

if TYPE_CHECKING:
    from gen.report.diagnosis_make import DiagnosisReport


def as_html(report: DiagnosisReport) -> str:
    """The page of a diagnosis."""
    found = report.diagnosis
    body = f"""<div class="answer" id="findings">
<h1>{esc(report.headline)}</h1>
<div class="lead">{_answer(report)}{in_front(report)}</div>
</div>
<section id="accuracy" aria-labelledby="accuracy-h"><h2 id="accuracy-h">Accuracy</h2>
<figure>{bars(found)}</figure>
{remedies(found)}
</section>
{each_remedy(report)}
{ruled_out(found)}
{expected(found)}
{variations(found)}
{differences(found)}
{checks(found)}
{how_made(report)}"""
    return whole_page(
        body,
        title=f"{report.headline}: {found.glyphs}",
        under=found.glyphs,
        skip="Go to the answer",
        sheets=("style.css", "diagnosis.css"),
    )


def _answer(report: DiagnosisReport) -> str:
    found = report.diagnosis
    first = "good" if found.verdict == HEALTHY else ""
    later = "next" if found.verdict == EXPLAINED else "fact"
    items = "".join(
        f'<li class="{later if place else first}"><p class="says">{esc(typeset(said))}</p></li>'
        for place, said in enumerate(found.says)
    )
    return f'<ol class="findings">{items}</ol>'
