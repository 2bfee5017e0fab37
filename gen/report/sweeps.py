"""The part of the page that shows sweeps: a chart with a handle, and what it points at."""

from __future__ import annotations

from typing import Any

from gen.evaluate.results import Curve, Evaluation
from gen.report.album import Album
from gen.report.axis_words import axis_words
from gen.report.charts import chart, stops
from gen.report.checks import chance, cut_levels
from gen.report.class_lines import class_lines
from gen.report.finding import ALSO, CONFUSED, HIDDEN_BLUR, INK, SLIGHT, Finding
from gen.report.glyph_words import Seen, through
from gen.report.markup import esc, table
from gen.report.reading import Reading, panel, reading, start_of, step, values
from gen.report.shown import ShownSweep
from gen.report.sweep_facts import facts
from gen.report.typeset import typeset
from gen.report.words import (
    amount,
    at,
    by_name,
    count,
    extremes,
    listed,
    measured,
    p_figure,
    percent,
    points,
    quoted,
    range_words,
)

MANY = 4
"""A finding about more sweeps than this and the sweeps don't name each other."""
_QUIET = {ALSO, SLIGHT, CONFUSED, HIDDEN_BLUR}


class SweepPart:
    """One sweep of the page.

    Parameters
    ----------
    evaluation, findings
        What was scored, and what it says.
    index
        Which of its curves.
    shown
        The pictures of it.
    album
        Where the pictures of the page are.
    """

    def __init__(
        self,
        evaluation: Evaluation,
        findings: tuple[Finding, ...],
        index: int,
        shown: ShownSweep,
        album: Album,
    ) -> None:
        self.evaluation, self.findings, self.index = evaluation, findings, index
        self.curve: Curve = evaluation.curves[index]
        self.album = album
        self.ident = f"sweep-{index + 1}"
        self.start = start_of(self.curve, evaluation.floor)
        self.names = [quoted(followed.true) for followed in shown.followed]
        self.glyphs: list[tuple[Seen, ...]] = [through(each) for each in shown.followed]
        misread = shown.misread or ((),) * len(self.curve.points)
        self.readings: list[Reading] = [
            reading(evaluation, self.curve, i, misread[i]) for i in range(len(self.curve.points))
        ]

    def markup(self) -> str:
        """Its chart, the panel, what it shows in words, and its figures."""
        curve, ident = self.curve, self.ident
        return (
            f'<article class="sweep" id="{ident}" data-curve="{self.index}" '
            f'aria-labelledby="{ident}-h">'
            f'<header><h3 id="{ident}-h">{esc(curve.title)}</h3>'
            f"<p>{esc(axis_words(curve))}</p></header>{self._kept()}"
            f'<div class="body read"><figure>{self._plot()}</figure>{self._panel()}'
            f'<div class="below">{facts(curve)}{self._notes()}</div></div>'
            f"{class_lines(curve, ident=ident, floor=self.evaluation.floor)}"
            f"{self._sure()}<details><summary>Figures of this sweep</summary>"
            f"{_figures(curve, ident)}</details></article>"
        )

    def values(self) -> dict[str, Any]:
        """What the script needs to move the handle."""
        return {
            "start": self.start,
            "nominal": [point.level for point in self.curve.points].index(self.curve.nominal),
            "rows": by_name(self.curve),
            "stops": stops(self.curve),
            "step": step(len(self.curve.points)),
            "levels": [values(told, self.album) for told in self.readings],
            "glyphs": [
                {
                    "name": name,
                    "seen": [[self.album.later(s.image), s.words, s.short] for s in glyph],
                }
                for name, glyph in zip(self.names, self.glyphs, strict=True)
            ],
        }

    def _plot(self) -> str:
        curve = self.curve
        rows = by_name(curve)
        drawn = chart(
            curve,
            ident=self.ident,
            floor=self.evaluation.floor,
            guess=chance(self.evaluation)[0],
            strip=self.glyphs[0] if self.glyphs else (),
            album=self.album,
        )
        kind = f"{'rows' if rows else 'line'}{' pictured' if self.glyphs else ''}"
        return (
            f'<div class="plot {kind}" data-curve="{self.index}">{drawn}'
            f'<div class="handle" role="slider" tabindex="0" data-level="{self.start}" '
            f'aria-label="Level of {esc(curve.title)}" aria-controls="{self.ident}-reading" '
            f'aria-orientation="{"vertical" if rows else "horizontal"}" aria-valuemin="0" '
            f'aria-valuemax="{len(curve.points) - 1}" aria-valuenow="{self.start}" '
            f'aria-valuetext="{esc(self.readings[self.start].now)}"></div></div>'
        )

    def _panel(self) -> str:
        return panel(
            self.readings[self.start],
            ident=self.ident,
            title=self.curve.title,
            glyph=self.glyphs[0][self.start] if self.glyphs else None,
            album=self.album,
        )

    def _sure(self) -> str:
        sure = self.readings[self.start].sure
        return "" if sure is None else sure.markup()

    def _kept(self) -> str:
        """What the whole sweep comes to, in a line over its chart."""
        curve = self.curve
        best, least = extremes(curve)
        cut = listed([amount(curve, point.level) for point in cut_levels(curve)])
        gaps = listed(missing(self.evaluation, curve))
        told = [
            (f"Keeps {percent(self.evaluation.floor)}", range_words(curve, curve.tolerance)),
            ("Highest", f"{measured(best.accuracy.value)} {at(curve, best.level)}"),
            ("Lowest", f"{measured(least.accuracy.value)} {at(curve, least.level)}"),
            *([("Mark cut by the frame", f"at {cut}")] if cut else []),
            *([("Missing, since the model failed", gaps)] if gaps else []),
        ]
        inner = "".join(
            f"<div><dt>{esc(name)}</dt><dd>{esc(typeset(said))}</dd></div>" for name, said in told
        )
        return f'<dl class="in-short">{inner}</dl>'

    def _notes(self) -> str:
        """Which findings it is evidence for; what is about many sweeps isn't named under each."""
        told = [
            (number, finding.kind)
            for number, finding in enumerate(self.findings, 1)
            if self.index in finding.curves and finding.kind != INK and len(finding.curves) <= MANY
        ]
        if not told:
            return ""
        links = listed([f'<a href="#finding-{number}">{esc(kind)}</a>' for number, kind in told])
        quiet = " fact" if _QUIET.issuperset(kind for _, kind in told) else ""
        return f'<p class="note{quiet}">Among the findings: {links}.</p>'


def missing(evaluation: Evaluation, curve: Curve) -> list[str]:
    """Names of the cells of a sweep that the model could not answer, so that it has no such level.

    A cell's name begins with the number of its sweep.
    """
    own = {p.cell.partition("-")[0] for p in curve.points if p.level != curve.nominal}
    return [failed.cell for failed in evaluation.failed if failed.cell.partition("-")[0] in own]


def _figures(curve: Curve, ident: str) -> str:
    confident = any(p.confidence_right is not None for p in curve.points)
    heads = ["Level", "Glyphs", "Right", "Accuracy", "95 % interval", "Against nominal", "p, Holm"]
    heads += ["Sure when right", "Sure when wrong"] if confident else []
    heads.append("Ink lost")
    rows = []
    for point in curve.points:
        part, gap = point.accuracy, point.difference
        row = [
            typeset(amount(curve, point.level)),
            count(part.n),
            count(part.correct),
            measured(part.value),
            f"{100 * part.low:.1f} to {100 * part.high:.1f} %",
            "nominal" if gap is None else typeset(points(gap.value)),
            "" if gap is None else p_figure(gap.p_holm),
        ]
        if confident:
            row += [_maybe(point.confidence_right), _maybe(point.confidence_wrong)]
        rows.append([*row, measured(max(point.ink_lost, 0.0))])
    return table(f"Figures: {curve.title}", heads, rows, ident=f"{ident}-table")


def _maybe(share: float | None) -> str:
    return "" if share is None else measured(share)
