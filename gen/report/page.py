"""report.html: one file that holds everything and fetches nothing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

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
from gen.report.whole_page import whole_page
from gen.report.words import amount, kept_together

_GOOD = {NOTHING, HOLDS, KEPT}
_FACTS = {SLIGHT, CONFUSED, HIDDEN_BLUR, INK}

Strips = Sequence[NDArray[np.uint8] | None]
"""One a curve: a glyph at each level, (levels, H, W), ink bright; None where there is none."""


def as_html(
    evaluation: Evaluation,
    findings: tuple[Finding, ...],
    run: RunInfo,
    strips: Strips | None = None,
) -> str:
    """The report as a page.

    Parameters
    ----------
    evaluation, findings, run
        What was scored, what it says, and how it was run.
    strips
        For each curve a glyph rendered at each of its levels, ndarray of shape
        (levels, H, W), uint8, ink bright; None, or None for one curve, to leave
        pictures out.

    Raises
    ------
    OutputError
        If strips and curves, or a strip and its levels, differ in number.
    """
    pictures = _pictures(evaluation, strips)
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


def _pictures(evaluation: Evaluation, strips: Strips | None) -> list[list[str] | None]:
    if strips is None:
        return [None] * len(evaluation.curves)
    if len(strips) != len(evaluation.curves):
        raise OutputError(
            "report",
            "strips and curves differ in number",
            got=f"{len(strips)} strips",
            allowed=f"one for each of {len(evaluation.curves)} curves",
        )
    out: list[list[str] | None] = []
    for curve, strip in zip(evaluation.curves, strips, strict=True):
        if strip is None:
            out.append(None)
            continue
        if strip.ndim != 3 or len(strip) != len(curve.points) or strip.dtype != np.uint8:
            raise OutputError(
                f"report, {curve.title}",
                "a strip doesn't fit its curve",
                got=f"{strip.dtype} of shape {strip.shape}",
                allowed=f"uint8 of shape ({len(curve.points)}, H, W)",
            )
        out.append([data_uri(image) for image in strip])
    return out
