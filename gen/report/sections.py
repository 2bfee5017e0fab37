"""The parts of the page below the findings."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.results import Curve, Evaluation
from gen.report.charts import chart, gauge
from gen.report.checks import chance, cut_levels
from gen.report.finding import ALSO, INK, SLIGHT, Finding
from gen.report.markup import Markup, esc, table
from gen.report.run import RunInfo
from gen.report.words import (
    amount,
    at,
    extremes,
    kept_together,
    listed,
    measured,
    percent,
    points,
    range_words,
)


def baseline(evaluation: Evaluation) -> str:
    """Accuracy with nothing changed, its interval, and what a guess would give."""
    scored = evaluation.baseline.accuracy
    guess, majority, name = chance(evaluation)
    low, high = 100 * scored.low, 100 * scored.high
    beside = f"A blind guess reads {measured(guess)}"
    if round(majority, 3) > round(guess, 3):
        beside += f", always answering {name} {measured(majority)}"
    return (
        '<section id="baseline" aria-labelledby="base-h"><h2 id="base-h">With nothing changed</h2>'
        f'<div class="base"><p><span class="big">{measured(scored.value)}</span>'
        f"{low:.1f} to {high:.1f} %, {scored.correct} of {scored.n} read rightly</p>"
        f"<div>{gauge(scored, floor=evaluation.floor, guess=guess)}</div></div>"
        f'<p class="hint">{esc(beside)}. The interval is 95 %, {esc(scored.method)}.</p></section>'
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
                kept_together(range_words(curve, curve.tolerance)),
                kept_together(f"{measured(best.accuracy.value)} {at(curve, best.level)}{off}"),
                kept_together(f"{measured(least.accuracy.value)} {at(curve, least.level)}"),
            )
        )
    if not rows:
        return ""
    floor = percent(evaluation.floor)
    heads = ("Sweep", f"Keeps {floor}", "Highest", "Lowest")
    return (
        '<section id="overview" class="overview" aria-labelledby="over-h">'
        '<h2 id="over-h">How far a mark may stray</h2>'
        f'<p class="hint">The unbroken range round nominal in which accuracy keeps to {floor}; '
        "\u201cpast\u201d where the levels ran out first.</p>"
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
    quiet = {ALSO, SLIGHT}
    notes = "".join(
        f'<p class="note{" fact" if finding.kind in quiet else ""}">'
        f"{esc(kept_together(finding.says))}</p>"
        for finding in findings
        if index in finding.curves and finding.kind != INK
    )
    drawn = chart(curve, ident=ident, floor=evaluation.floor, guess=guess, pictures=pictures)
    return (
        f'<article class="sweep" id="{ident}" data-curve="{index}" aria-labelledby="{ident}-h">'
        f'<header><h3 id="{ident}-h">{esc(curve.title)}</h3>'
        f"<p>{esc(axis_words(curve))}</p></header>"
        f'<div class="body"><figure>{drawn}</figure><div class="side"><dl>'
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
                str(part.n),
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
    facts = [
        ("Model", evaluation.model),
        ("Answers", evaluation.answers),
        ("Glyphs", evaluation.glyphs),
        ("Glyphs, SHA-256", evaluation.glyphs_digest),
        ("Recipe", evaluation.recipe),
        ("Recipe, SHA-256", evaluation.recipe_digest),
        *(("Left out", line) for line in evaluation.left_out),
        ("Command", run.command),
        ("Versions", ", ".join(f"{name} {version}" for name, version in run.versions)),
    ]
    lines = "".join(f"<dt>{esc(name)}</dt><dd>{esc(said)}</dd>" for name, said in facts if said)
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


def axis_words(curve: Curve) -> str:
    """What the numbers under the axis are, and which way plus goes."""
    along = str(dict(curve.options).get("along"))
    unit = {"deg": "degrees", "rule": "by rule", "times": "with and without"}.get(
        curve.unit, curve.unit
    )
    if curve.perturbation == "translation":
        way = {"x": "+ is right", "y": "+ is down"}.get(along, f"+ is towards {along} degrees")
        return f"{unit}, {way}"
    if curve.perturbation == "rotation":
        return f"{unit}, + is anticlockwise"
    if curve.perturbation == "row-slip":
        return f"{unit}, + is early"
    return unit


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
            str(part.n),
            str(part.correct),
            measured(part.value),
            f"{100 * part.low:.1f} to {100 * part.high:.1f} %",
            "nominal" if gap is None else points(gap.value),
            "" if gap is None else _p(gap.p_holm),
        ]
        if confident:
            row += [_maybe(point.confidence_right), _maybe(point.confidence_wrong)]
        rows.append([*row, measured(max(point.ink_lost, 0.0))])
    return table(f"Figures: {curve.title}", heads, rows, ident=f"{ident}-table")


def _mostly(evaluation: Evaluation, name: str) -> str:
    own = evaluation.classes.index(name)
    row = evaluation.confusion[own] if own < len(evaluation.confusion) else ()
    wrong = [(count, -i) for i, count in enumerate(row[: len(evaluation.classes)]) if i != own]
    count, i = max(wrong, default=(0, 0))
    return f"{evaluation.classes[-i]} ({count})" if count else ""


def _p(value: float) -> str:
    return "< 0.001" if value < 0.001 else f"{value:.3f}"


def _maybe(share: float | None) -> str:
    return "" if share is None else measured(share)
