"""The part of the page that says what the model's confidence is worth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gen.evaluate.results import Calibration, Evaluation, ForeignMarks, Point
from gen.report.album import Album
from gen.report.causes import is_file_fault
from gen.report.figure_words import declining_words
from gen.report.finding import SURE, Finding
from gen.report.markup import Markup, esc, table
from gen.report.names import isolated
from gen.report.places import place
from gen.report.reliability import JOINED, declined, reliability
from gen.report.shown import ShownKind
from gen.report.sure_here import edges, how_many
from gen.report.sureness import kind_words, labels_only, mean_confidence, named_words
from gen.report.typeset import typeset
from gen.report.values import declining_values
from gen.report.words import count, interval_words, measured

LOOKS = 4


def confidence(evaluation: Evaluation, findings: Sequence[Finding] = ()) -> str:
    """Calibration, the reliability curve and what declining is worth; for labels a sentence."""
    base = evaluation.baseline
    if base.calibration is None:
        if not labels_only(evaluation):
            return ""
        inner = (
            '<p class="hint">The model gives labels only, so nothing can be said about how '
            "sure it is, and it can't decline.</p>"
        )
    else:
        inner = _told(evaluation, base.calibration, findings)
    return (
        '<section id="confidence" aria-labelledby="sure-h"><h2 id="sure-h">How sure it is</h2>'
        f"{inner}</section>"
    )


def strangers(evaluation: Evaluation, shown: Sequence[ShownKind], album: Album) -> str:
    """What the model says to marks of no class, and what they look like."""
    if not evaluation.foreign:
        return ""
    rows = [
        (
            Markup(f"{esc(kind_words(kind))}{_looks(kind, shown, album)}"),
            count(kind.named.n),
            interval_words(kind.named),
            "" if kind.confidence is None else measured(kind.confidence),
            f"{isolated(kind.commonest)} ({measured(kind.commonest_share)})",
        )
        for kind in evaluation.foreign
    ]
    named = named_words(evaluation)
    heads = ("Shown", "Pictures", named[0].upper() + named[1:], "Mean confidence", "Mostly called")
    values = declining_values(evaluation.declining)
    said = ""
    if values is not None:
        words = declining_words(values)
        said = f"{words[0].upper()}{words[1:]}. How it was chosen: {values['rule']}."
    elif labels_only(evaluation):
        said = "The model gives labels only, so it can't decline."
    return (
        '<section id="strangers" aria-labelledby="none-h">'
        '<h2 id="none-h">Marks of no class</h2>'
        + table("What it says to what has no class", heads, rows)
        + (f'<p class="hint after">{esc(typeset(said))}</p>' if said else "")
        + "</section>"
    )


def _looks(kind: ForeignMarks, shown: Sequence[ShownKind], album: Album) -> str:
    """Some marks of a kind, beside its name."""
    images = next((each.images for each in shown if each.kind == kind.kind), ())
    if not len(images):
        return ""
    inner = "".join(
        album.img(image, f"{kind_words(kind)}, example {number}")
        for number, image in enumerate(images[:LOOKS], 1)
    )
    return f'<span class="looks">{inner}</span>'


def _told(evaluation: Evaluation, base: Calibration, findings: Sequence[Finding]) -> str:
    worst = _worst(evaluation)
    rows = [_row("nominal", evaluation.baseline), *(_row(name, p) for name, p in worst)]
    heads = ("Where", "Read rightly", "Mean confidence", "Calibration error", "Brier", "Log loss")
    bins = how_many(base) if base.bins else 0
    hint = (
        "Nominal, and the level of each sweep where confidence is worth least. Calibration "
        f"error: mean distance between confidence and accuracy, over {bins} bins of equal width. "
        "Brier: 0 is best, 2 worst. In the first picture a line joins the bins of "
        f"{JOINED} answers or more."
    )
    shown = [("at nominal", base)]
    if worst:
        name, point = max(worst, key=lambda pair: _ece(pair[1]))
        if point.calibration is not None:
            shown.append((name, point.calibration))
    twins = "".join(_kept(name, part) for name, part in shown)
    known = dict(shown) | dict(_begins(evaluation, findings))
    tables = "".join(_bins(name, part) for name, part in known.items())
    return (
        f'<p class="hint">{esc(hint)}</p>'
        + table("Calibration", heads, rows)
        + f'<div class="twins"><figure>{reliability(shown)}</figure>'
        f"<figure>{declined(shown)}</figure></div>"
        "<details><summary>Figures of both pictures</summary>"
        f'<div class="kept-tables">{twins}</div>{tables}</details>'
    )


def _begins(
    evaluation: Evaluation, findings: Sequence[Finding]
) -> Iterator[tuple[str, Calibration]]:
    """The level whose reliability is drawn beside a finding."""
    for finding in findings:
        where = finding.evidence["begins"][0] if finding.kind == SURE else {"curve": None}
        if where["curve"] is None:
            continue
        curve = evaluation.curves[where["curve"]]
        point = next(point for point in curve.points if point.level == where["level"])
        if point.calibration is not None:
            yield typeset(place(curve, point.level)), point.calibration


def _worst(evaluation: Evaluation) -> list[tuple[str, Point]]:
    """For each sweep the level off nominal with the largest calibration error."""
    out = []
    for curve in evaluation.curves:
        told = [p for p in curve.points if p.calibration and p.level != curve.nominal]
        if told and not is_file_fault(curve):
            point = max(told, key=_ece)
            out.append((typeset(place(curve, point.level)), point))
    return out


def _ece(point: Point) -> float:
    return -1.0 if point.calibration is None else point.calibration.ece


def _row(name: str, point: Point) -> tuple[str, ...]:
    part, told = point.calibration, mean_confidence(point)
    if part is None or told is None:
        return (name, measured(point.accuracy.value), "", "", "", "")
    return (
        name,
        measured(point.accuracy.value),
        measured(told),
        measured(part.ece),
        f"{part.brier:.3f}",
        f"{part.log_loss:.3f}",
    )


def _kept(name: str, part: Calibration) -> str:
    heads = ("Still answered", "From confidence", "Read rightly")
    rows = [
        (measured(k.coverage), f"{k.threshold:.3f}", interval_words(k.accuracy)) for k in part.kept
    ]
    return table(f"Declining the least sure, {name}", heads, rows) if rows else ""


def _bins(name: str, part: Calibration) -> str:
    heads = ("Confidence", "Answers", "Mean confidence", "Read rightly")
    rows = [
        (
            f"{edges(b)} %",
            count(b.n),
            measured(b.confidence),
            interval_words(b.accuracy),
        )
        for b in part.bins
    ]
    return table(f"Reliability {name}", heads, rows)
