"""report.html: one file that holds everything and fetches nothing."""

from __future__ import annotations

from gen.core.errors import OutputError
from gen.evaluate.results import Evaluation
from gen.report.confidence import confidence, strangers
from gen.report.figures import figures
from gen.report.finding import (
    CONFUSED,
    HIDDEN_BLUR,
    HOLDS,
    INK,
    KEPT,
    NOTHING,
    PEAK,
    SLIGHT,
    Finding,
)
from gen.report.findings import verdict
from gen.report.forecasts import blends
from gen.report.maps import grids
from gen.report.markup import esc
from gen.report.pictures import data_uri
from gen.report.promises import requirements
from gen.report.run import RunInfo
from gen.report.sections import baseline, classes, how_made, left_out, overview, sweep
from gen.report.shown import Shown
from gen.report.whole_page import whole_page
from gen.report.words import amount, kept_together

_GOOD = {NOTHING, HOLDS, KEPT}
_FACTS = {SLIGHT, CONFUSED, HIDDEN_BLUR, INK}


def as_html(
    evaluation: Evaluation,
    findings: tuple[Finding, ...],
    run: RunInfo,
    shown: Shown | None = None,
) -> str:
    """The report as a page.

    Parameters
    ----------
    evaluation, findings, run
        What was scored, what it says, and how it was run.
    shown
        Its pictures; None to leave them out.

    Raises
    ------
    OutputError
        If pictures and curves, or the pictures of a curve and its levels, differ in number.
    """
    pictures = _pictures(evaluation, shown)
    sweeps = "".join(
        sweep(evaluation, findings, index, pictures[index])
        for index in range(len(evaluation.curves))
    )
    body = f"""<div class="answer" id="findings">
<h1>{esc(verdict(findings))}</h1>
<div class="lead">{_findings(evaluation, findings)}{_pair(evaluation, findings, pictures)}</div>
{left_out(evaluation)}
</div>
{requirements(evaluation)}
{baseline(evaluation)}
{overview(evaluation)}
<section id="sweeps" aria-labelledby="sweeps-h"><h2 id="sweeps-h">Each sweep</h2>
{sweeps}
</section>
{grids(evaluation)}
{blends(evaluation)}
{confidence(evaluation)}
{strangers(evaluation)}
{classes(evaluation)}
{how_made(evaluation, run)}"""
    return whole_page(
        body,
        title=f"{verdict(findings)}: {evaluation.recipe}",
        under=evaluation.recipe,
        skip="Go to the findings",
        sheets=("style.css",),
    )


def _findings(evaluation: Evaluation, findings: tuple[Finding, ...]) -> str:
    items = []
    for finding in findings:
        kind = "good" if finding.kind in _GOOD else "fact" if finding.kind in _FACTS else ""
        good = f' class="{kind}"' if kind else ""
        under = figures(finding, evaluation)
        measured = f'<p class="measured">{esc(kept_together(under))}</p>' if under else ""
        items.append(
            f'<li{good}><p class="says">{esc(kept_together(finding.says))}</p>{measured}</li>'
        )
    return f'<ol class="findings">{"".join(items)}</ol>'


def _pair(
    evaluation: Evaluation, findings: tuple[Finding, ...], pictures: list[list[str] | None]
) -> str:
    """A mark as it is, beside the mark that the model reads best."""
    lead = next((finding for finding in findings if finding.kind == PEAK), None)
    if lead is None or lead.curve is None:
        return ""
    shown = pictures[lead.curve]
    if shown is None:
        return ""
    curve = evaluation.curves[lead.curve]
    levels = [point.level for point in curve.points]
    best = esc(amount(curve, curve.peak.level))
    here, there = (shown[levels.index(level)] for level in (curve.nominal, curve.peak.level))
    return (
        '<div class="pair">'
        f'<div><img alt="A mark at nominal" src="{here}">nominal</div>'
        f'<div class="there"><img alt="The same mark at {best}" src="{there}">{best}</div></div>'
    )


def _pictures(evaluation: Evaluation, shown: Shown | None) -> list[list[str] | None]:
    """The first glyph that is followed, at each level of each curve, ready for a page."""
    if shown is None:
        return [None] * len(evaluation.curves)
    if len(shown.sweeps) != len(evaluation.curves):
        raise OutputError(
            "report",
            "pictures and curves differ in number",
            got=f"pictures of {len(shown.sweeps)} sweeps",
            allowed=f"one for each of {len(evaluation.curves)} curves",
        )
    out: list[list[str] | None] = []
    for curve, pictured in zip(evaluation.curves, shown.sweeps, strict=True):
        for followed in pictured.followed:
            if len(followed.images) != len(curve.points):
                raise OutputError(
                    f"report, {curve.title}",
                    "the pictures of a sweep don't fit its levels",
                    got=f"{len(followed.images)} pictures",
                    allowed=f"one for each of {len(curve.points)} levels",
                )
        first = pictured.followed[0].images if pictured.followed else None
        out.append(None if first is None else [data_uri(image) for image in first])
    return out
