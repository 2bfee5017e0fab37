"""report.html: one file that holds everything and fetches nothing."""

from __future__ import annotations

from collections.abc import Sequence

from gen.core.errors import OutputError
from gen.evaluate.results import Evaluation
from gen.report.album import Album
from gen.report.confidence import confidence, strangers
from gen.report.figures import figures
from gen.report.finding import (
    CONFUSED,
    HIDDEN_BLUR,
    HOLDS,
    INK,
    KEPT,
    NOTHING,
    SLIGHT,
    Finding,
)
from gen.report.findings import verdict
from gen.report.forecasts import blends
from gen.report.gallery import gallery
from gen.report.maps import grids
from gen.report.markup import esc
from gen.report.page_data import page_data
from gen.report.promises import requirements
from gen.report.proof import proof
from gen.report.room import in_room
from gen.report.run import RunInfo
from gen.report.sections import baseline, classes, how_made, left_out, overview
from gen.report.shown import Shown, ShownSweep
from gen.report.sweeps import MANY, SweepPart
from gen.report.typeset import typeset
from gen.report.whole_page import whole_page
from gen.report.words import listed

SCRIPTS = ("page.js", "panel.js", "sweep.js", "grid.js", "start.js")
"""What runs in it, one after the other as one script."""
_GOOD = {NOTHING, HOLDS, KEPT}
_BARE = ShownSweep((), ())
_HANDLE = (
    "The handle of each chart slides along the levels, by pointer or by arrow keys; what was "
    "measured at that level stands beside it. On a touch screen, hold a row for a moment first."
)
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
    shown = Shown() if shown is None else shown
    _held_to(evaluation, shown)
    album = Album()
    few, left = in_room(shown, album)
    sweeps = [
        SweepPart(evaluation, findings, index, each, album)
        for index, each in enumerate(few.sweeps or [_BARE] * len(evaluation.curves))
    ]
    body = f"""<div class="answer" id="findings">
<h1>{esc(verdict(findings))}</h1>
{_findings(evaluation, findings, shown, album)}
{left_out(evaluation)}
</div>
{requirements(evaluation)}
{baseline(evaluation)}
{overview(evaluation)}
{gallery(evaluation, shown, album)}
{_sweeps(sweeps, left)}
{grids(evaluation)}
{blends(evaluation, shown.blends, album)}
{confidence(evaluation, findings)}
{strangers(evaluation, shown.strangers, album)}
{classes(evaluation)}
{how_made(evaluation, run)}"""
    return whole_page(
        body,
        title=f"{verdict(findings)}: {evaluation.recipe}",
        under=evaluation.recipe,
        skip="Go to the findings",
        sheets=("style.css",),
        scripts=SCRIPTS,
        data=page_data(evaluation, sweeps, few, album),
    )


def _sweeps(sweeps: Sequence[SweepPart], left: str) -> str:
    if not sweeps:
        return ""
    hint = f'<p class="hint">{esc(left)}</p>' if left else ""
    parts = "".join(sweep.markup() for sweep in sweeps)
    return (
        '<section id="sweeps" aria-labelledby="sweeps-h"><h2 id="sweeps-h">Each sweep</h2>'
        f'<p class="hint live-only">{_HANDLE}</p>{hint}{parts}</section>'
    )


def _findings(
    evaluation: Evaluation, findings: tuple[Finding, ...], shown: Shown, album: Album
) -> str:
    items = []
    for number, finding in enumerate(findings, 1):
        kind = "good" if finding.kind in _GOOD else "fact" if finding.kind in _FACTS else ""
        good = f' class="{kind}"' if kind else ""
        says = esc(typeset(finding.headline))
        if finding.why:
            says += f': <span class="why">{esc(typeset(finding.why))}.</span>'
        items.append(
            f'<li{good} id="finding-{number}"><div><p class="says">{says}</p>'
            f"{_under(finding, evaluation)}</div>{proof(finding, evaluation, shown, album)}</li>"
        )
    return f'<ol class="findings">{"".join(items)}</ol>'


def _under(finding: Finding, evaluation: Evaluation) -> str:
    """What was measured, and the way to the sweeps that it is about, where they are few."""
    under = esc(typeset(figures(finding, evaluation)))
    if 0 < len(finding.curves) <= MANY:
        links = [
            f'<a href="#sweep-{index + 1}">{esc(evaluation.curves[index].title)}</a>'
            for index in finding.curves
        ]
        under += f"{'; see' if under else 'See'} {listed(links)}"
    return f'<p class="measured">{under}</p>' if under else ""


def _held_to(evaluation: Evaluation, shown: Shown) -> None:
    """Refuse pictures that don't fit what was scored; there may be none at all."""
    for what, given, scored in (
        ("sweeps", shown.sweeps, evaluation.curves),
        ("grids", shown.grids, evaluation.grids),
        ("blends", shown.blends, evaluation.blends),
    ):
        if given and len(given) != len(scored):
            name = "curves" if what == "sweeps" else what
            raise OutputError(
                "report",
                f"pictures and {name} differ in number",
                got=f"pictures of {len(given)} {what}",
                allowed=f"one for each of {len(scored)} {name}",
            )
    for curve, pictured in zip(evaluation.curves, shown.sweeps, strict=False):
        several = [*(len(one.images) for one in pictured.followed), len(pictured.misread)]
        for number in several:
            if number != len(curve.points):
                raise OutputError(
                    f"report, {curve.title}",
                    "the pictures of a sweep don't fit its levels",
                    got=f"{number} pictures",
                    allowed=f"one for each of {len(curve.points)} levels",
                )
