"""The parts of the page below the findings."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.results import Curve, Evaluation
from gen.report.charts import chart, gauge
from gen.report.checks import chance, cut_levels
from gen.report.few import beside_words
from gen.report.finding import ALSO, CONFUSED, HIDDEN_BLUR, INK, SLIGHT, Finding
from gen.report.markup import Markup, esc, table
from gen.report.run import RunInfo
from gen.report.sweep_facts import facts
from gen.report.words import (
    amount,
    at,
    axis_words,
    count,
    ends_words,
    extremes,
    kept_together,
    listed,
    measured,
    p_figure,
    percent,
    points,
    range_words,
)

MANY = 4


def baseline(evaluation: Evaluation) -> str:
    """Accuracy with nothing changed, its interval, and what a guess would give."""
    scored = evaluation.baseline.accuracy
    guess = chance(evaluation)[0]
    low, high = 100 * scored.low, 100 * scored.high
    beside = f"To hold it against: {beside_words(evaluation)}"
    return (
        '<section id="baseline" aria-labelledby="base-h"><h2 id="base-h">With nothing changed</h2>'
        f'<div class="base"><p><span class="big">{measured(scored.value)}</span>'
        f"{low:.1f} to {high:.1f} %, {count(scored.correct)} of {count(scored.n)} "
        "read rightly</p>"
        f"<div>{gauge(scored, floor=evaluation.floor, guess=guess)}</div></div>"
        f'<p class="hint">{esc(kept_together(beside))}. The interval is 95\u00a0%, '
        f"{esc(scored.method)}.</p></section>"
    )


def overview(evaluation: Evaluation) -> str:
    """All sweeps in one table: how far each may go."""
    rows = []
    for index, curve in enumerate(evaluation.curves):
        best, least = extremes(curve)
        off = " (off nominal)" if curve.peak.off_nominal else ""
        rows.append(
            (
                Markup(f'<a href="#sweep-{index + 1}">{esc(curve.title)}</a>'),
                kept_together(
                    f"{range_words(curve, curve.tolerance)} {ends_words(curve)}".rstrip()
                ),
                kept_together(f"{measured(best.accuracy.value)} {at(curve, best.level)}{off}"),
                kept_together(f"{measured(least.accuracy.value)} {at(curve, least.level)}"),
            )
        )
    if not rows:
        return ""
    floor = percent(evaluation.floor)
    told = any(ends_words(curve) for curve in evaluation.curves)
    ends = " In brackets the 95\u00a0% interval of each end, by bootstrap." if told else ""
    heads = ("Sweep", f"Keeps {floor}", "Highest", "Lowest")
    return (
        '<section id="overview" class="overview" aria-labelledby="over-h">'
        '<h2 id="over-h">How far a mark may stray</h2>'
        f'<p class="hint">The unbroken range round nominal in which accuracy keeps to {floor}; '
        f"\u201cpast\u201d where the levels ran out first.{ends}</p>"
        + table("All sweeps", heads, rows)
        + "</section>"
    )


def sweep(
    evaluation: Evaluation,
    findings: tuple[Finding, ...],
    index: int,
    pictures: Sequence[str] | None,
) -> str:
    """One sweep: its chart, what it shows in words, and its figures."""
    curve = evaluation.curves[index]
    ident = f"sweep-{index + 1}"
    guess = chance(evaluation)[0]
    best, least = extremes(curve)
    quiet = {ALSO, SLIGHT, CONFUSED, HIDDEN_BLUR}
    notes = "".join(
        f'<p class="note{" fact" if finding.kind in quiet else ""}">'
        f"{esc(kept_together(finding.says))}</p>"
        for finding in findings
        # What is about many sweeps stands among the findings and isn't said under each.
        if index in finding.curves and finding.kind != INK and len(finding.curves) <= MANY
    )
    drawn = chart(curve, ident=ident, floor=evaluation.floor, guess=guess, pictures=pictures)
    return (
        f'<article class="sweep" id="{ident}" data-curve="{index}" aria-labelledby="{ident}-h">'
        f'<header><h3 id="{ident}-h">{esc(curve.title)}</h3>'
        f"<p>{esc(axis_words(curve))}</p></header>"
        f'<div class="body"><figure>{drawn}{facts(curve)}</figure><div class="side"><dl>'
        f"<div><dt>Keeps {percent(evaluation.floor)}</dt>"
        f"<dd><b>{esc(range_words(curve, curve.tolerance))}</b></dd></div>"
        f"<div><dt>Highest</dt><dd>{measured(best.accuracy.value)} "
        f"{esc(at(curve, best.level))}</dd></div>"
        f"<div><dt>Lowest</dt><dd>{measured(least.accuracy.value)} "
        f"{esc(at(curve, least.level))}</dd></div>"
        f"{_cut(curve)}</dl>{notes}</div></div>"
        f"<details><summary>Figures of this sweep</summary>{_figures(curve, ident)}</details>"
        "</article>"
    )


def classes(evaluation: Evaluation) -> str:
    """Accuracy of each class at nominal, and what it is taken for."""
    rows = []
    for scored in evaluation.baseline.per_class:
        part = scored.accuracy
        rows.append(
            (
                scored.name,
                count(part.n),
                measured(part.value),
                f"{100 * part.low:.1f} to {100 * part.high:.1f} %",
                _mostly(evaluation, scored.name),
            )
        )
    if not rows:
        return ""
    heads = ("Class", "Glyphs", "Read rightly", "95 % interval", "Else mostly read as")
    return (
        '<section id="classes" aria-labelledby="class-h"><h2 id="class-h">Class by class</h2>'
        + table("At nominal", heads, rows, ident="classes-table")
        + "</section>"
    )


def how_made(evaluation: Evaluation, run: RunInfo) -> str:
    """What was run, so that it can be run again."""
    told = [
        ("Model", evaluation.model),
        ("Answers", evaluation.answers),
        ("Glyphs", evaluation.glyphs),
        ("Glyphs, SHA-256", evaluation.glyphs_digest),
        ("Recipe", evaluation.recipe),
        ("Recipe, SHA-256", evaluation.recipe_digest),
        *(("Left out", line) for line in evaluation.left_out),
        *(("Failed", f"{cell.cell}: {cell.why}") for cell in evaluation.failed),
        *_behaviour(evaluation),
        ("Bootstrap of", evaluation.resampled),
        ("Command", run.command),
        ("Versions", ", ".join(f"{name} {version}" for name, version in run.versions)),
        ("Time", ", ".join(f"{name} {spent:.1f} s" for name, spent in evaluation.seconds)),
    ]
    lines = "".join(f"<dt>{esc(name)}</dt><dd>{esc(said)}</dd>" for name, said in told if said)
    recipe = ""
    if run.recipe_text:
        recipe = (
            "<details><summary>The recipe</summary>"
            f'<pre tabindex="0">{esc(run.recipe_text)}</pre></details>'
        )
    return (
        '<section id="made" aria-labelledby="made-h"><h2 id="made-h">How this was made</h2>'
        f'<dl class="how">{lines}</dl>{recipe}</section>'
    )


def left_out(evaluation: Evaluation) -> str:
    """What wasn't scored, near the top: it decides what the findings are about."""
    lines = evaluation.left_out
    if not lines:
        return ""
    more = f"; and {len(lines) - 3} more, listed below" if len(lines) > 3 else ""
    return f'<p class="aside">Left out: {esc("; ".join(lines[:3]) + more)}.</p>'


def _behaviour(evaluation: Evaluation) -> list[tuple[str, str]]:
    seen = evaluation.behaviour
    if seen is None:
        return []
    said = (
        f"{count(seen.n)} glyphs; another answer when the same batch came twice for {seen.again}, "
        f"alone for {seen.alone}, elsewhere in the batch for {seen.elsewhere}"
    )
    if seen.largest is not None:
        said += f"; largest change of a confidence {seen.largest:.3g}"
    return [("Asked again", said), *(("Noted", note) for note in seen.notes)]


def _cut(curve: Curve) -> str:
    """Where the frame cut the mark, if anywhere."""
    words = listed([amount(curve, point.level) for point in cut_levels(curve)])
    return f"<div><dt>Mark cut by the frame</dt><dd>at {esc(words)}</dd></div>" if words else ""


def _figures(curve: Curve, ident: str) -> str:
    confident = any(p.confidence_right is not None for p in curve.points)
    heads = ["Level", "Glyphs", "Right", "Accuracy", "95 % interval", "Against nominal", "p, Holm"]
    heads += ["Sure when right", "Sure when wrong"] if confident else []
    heads.append("Ink lost")
    rows = []
    for point in curve.points:
        part, gap = point.accuracy, point.difference
        row = [
            amount(curve, point.level),
            count(part.n),
            count(part.correct),
            measured(part.value),
            f"{100 * part.low:.1f} to {100 * part.high:.1f} %",
            "nominal" if gap is None else points(gap.value),
            "" if gap is None else p_figure(gap.p_holm),
        ]
        if confident:
            row += [_maybe(point.confidence_right), _maybe(point.confidence_wrong)]
        rows.append([*row, measured(max(point.ink_lost, 0.0))])
    return table(f"Figures: {curve.title}", heads, rows, ident=f"{ident}-table")


def _mostly(evaluation: Evaluation, name: str) -> str:
    own = evaluation.classes.index(name)
    row = evaluation.confusion[own] if own < len(evaluation.confusion) else ()
    wrong = [(times, -i) for i, times in enumerate(row[: len(evaluation.classes)]) if i != own]
    times, i = max(wrong, default=(0, 0))
    return f"{evaluation.classes[-i]} ({count(times)})" if times else ""


def _maybe(share: float | None) -> str:
    return "" if share is None else measured(share)
