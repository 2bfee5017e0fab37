"""diagnosis.html: why a model fails, in one file that fetches nothing."""

from __future__ import annotations

import base64
import hashlib
from functools import lru_cache
from importlib import resources
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
from gen.report.words import kept_together

if TYPE_CHECKING:
    from gen.report.diagnosis_make import DiagnosisReport


def as_html(report: DiagnosisReport) -> str:
    """The page of a diagnosis."""
    found = report.diagnosis
    style = _style()
    digest = base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    policy = (
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>{esc(report.headline)}: {esc(found.glyphs)}</title>
<style>{style}</style>
</head>
<body>
<a class="skip" href="#findings">Go to the answer</a>
<header class="masthead"><p><b>Inkdrift</b> &#8195;{esc(found.glyphs)}</p></header>
<main>
<div class="answer" id="findings">
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
{how_made(report)}
</main>
</body>
</html>
"""


def _answer(report: DiagnosisReport) -> str:
    found = report.diagnosis
    first = "good" if found.verdict == HEALTHY else ""
    later = "next" if found.verdict == EXPLAINED else "fact"
    items = "".join(
        f'<li class="{later if place else first}">'
        f'<p class="says">{esc(kept_together(said))}</p></li>'
        for place, said in enumerate(found.says)
    )
    return f'<ol class="findings">{items}</ol>'


@lru_cache(maxsize=1)
def _style() -> str:
    files = resources.files("gen.report")
    names = ("style.css", "diagnosis.css")
    return "".join(files.joinpath(name).read_text("utf-8") for name in names)
