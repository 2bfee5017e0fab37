"""The parts of the page below the findings."""

from __future__ import annotations

from gen.evaluate.results import Evaluation
from gen.report.charts import gauge
from gen.report.checks import chance
from gen.report.few import beside_words
from gen.report.markup import Markup, esc, table
from gen.report.names import isolated
from gen.report.run import RunInfo
from gen.report.typeset import typeset
from gen.report.words import (
    at,
    count,
    ends_words,
    extremes,
    measured,
    percent,
    range_words,
)


def baseline(evaluation: Evaluation) -> str:
    """Accuracy with nothing changed, its interval, and what a guess would give."""
    scored = evaluation.baseline.accuracy
    guess = chance(evaluation)[0]
    low, high = 100 * scored.low, 100 * scored.high
    beside = f"To hold it against: {beside_words(evaluation)}"
    return (
        '<section id="baseline" aria-labelledby="base-h">'
        '<h2 id="base-h">With nothing changed: nominal</h2>'
        f'<div class="base"><p><span class="big">{measured(scored.value)}</span>'
        f"{low:.1f} to {high:.1f} %, {count(scored.correct)} of {count(scored.n)} "
        "read rightly</p>"
        f"<div>{gauge(scored, floor=evaluation.floor, guess=guess)}</div></div>"
        f'<p class="hint">{esc(typeset(beside))}. The interval is 95\u00a0%, '
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
                typeset(f"{range_words(curve, curve.tolerance)} {ends_words(curve)}".rstrip()),
                typeset(f"{measured(best.accuracy.value)} {at(curve, best.level)}{off}"),
                typeset(f"{measured(least.accuracy.value)} {at(curve, least.level)}"),
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
        ("Floor", percent(evaluation.floor)),
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
        f'{_again(run)}<dl class="how">{lines}</dl>{recipe}</section>'
    )


def _again(run: RunInfo) -> str:
    """How somebody else gets the same figures."""
    if not (run.command and run.recipe_text):
        return ""
    return (
        '<p class="hint">The same command gives the same figures from the same model, glyphs and '
        "recipe; the digests tell whether they are the same. The recipe stands below, whole.</p>"
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


def _mostly(evaluation: Evaluation, name: str) -> str:
    own = evaluation.classes.index(name)
    row = evaluation.confusion[own] if own < len(evaluation.confusion) else ()
    wrong = [(times, -i) for i, times in enumerate(row[: len(evaluation.classes)]) if i != own]
    times, i = max(wrong, default=(0, 0))
    return f"{isolated(evaluation.classes[-i])} ({count(times)})" if times else ""
