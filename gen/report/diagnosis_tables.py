"""The figures of a diagnosis as tables, and how it was made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnose.differences import SetDifference
from gen.diagnose.results import Diagnosis
from gen.diagnose.set_finding import SetFinding
from gen.report.diagnosis_words import named
from gen.report.markup import Markup, esc, table
from gen.report.measure_words import difference_heads, difference_row
from gen.report.typeset import typeset
from gen.report.words import interval_words, p_figure, percent, points

if TYPE_CHECKING:
    from gen.report.diagnosis_make import DiagnosisReport


def remedies(found: Diagnosis) -> str:
    """A row a remedy; nothing where there is none."""
    if not found.remedies:
        return ""
    base = found.baseline
    rows = [("as they are", f"{base.correct} of {base.n}", interval_words(base), "", "", "")]
    rows += [
        (
            Markup(f'<a href="#remedy-{number}">{esc(typeset(named(each)))}</a>'),
            f"{each.accuracy.correct} of {each.accuracy.n}",
            interval_words(each.accuracy),
            typeset(points(each.gain)),
            p_figure(each.p_value),
            each.side,
        )
        for number, each in enumerate(found.remedies, 1)
    ]
    heads = ["remedy", "right", "accuracy (95 %)", "gain", "p, Holm", "where to change it"]
    hint = (
        "Every glyph is judged by the amount that was fitted on glyphs without it. p is McNemar's "
        "exact test against the glyphs as they are, corrected by Holm for all that was tried."
    )
    return (
        f'<p class="hint">{esc(hint)}</p>'
        f'<div class="remedies">{table("Remedies", heads, rows)}</div>'
    )


def expected(found: Diagnosis) -> str:
    """What the model's own curves let one expect."""
    if not found.expected:
        return ""
    rows = [
        (
            each.title,
            typeset(f"{each.level:+.3g} {each.unit}".rstrip()),
            interval_words(each.predicted),
            interval_words(each.seen),
        )
        for each in found.expected
    ]
    heads = ["curve", "these glyphs sit at", "training glyphs there", "these glyphs"]
    return _section(
        "expected",
        "What the model's curves let one expect",
        "Accuracy of the training glyphs when each is brought to where these glyphs sit. Where it "
        "is about as low as that of these glyphs, this alone explains it.",
        table("Expected and seen", heads, rows),
    )


def variations(found: Diagnosis) -> str:
    """What training would have to vary."""
    if not found.variations:
        return ""
    rows = [
        (
            each.title,
            typeset(f"{each.low:g} to {each.high:g} {each.unit}".rstrip()),
            f"{100 * each.loss:.1f} points",
        )
        for each in found.variations
    ]
    heads = ["vary in training", "range", "what it costs the model now"]
    return _section(
        "variations",
        "What training would have to vary",
        "Each range holds the middle 90 % of these glyphs, and nominal. To see whether it helps, "
        "render the training set at such levels (gen render), train again, and compare the two "
        "models on these glyphs (gen report, gen compare).",
        table("Variations", heads, rows),
    )


def differences(found: Diagnosis) -> str:
    """In what the glyphs differ from those of the training."""
    rows = [difference_row(row) for row in found.differences if isinstance(row, SetDifference)]
    if not rows:
        return ""
    heads = difference_heads("training")
    return _section(
        "differences",
        "How these differ from the training glyphs",
        "The largest effect first. Medians stand under here and training; the difference is the "
        "median of all pairs. A delta of 1 says that every glyph here lies over every one there, "
        "\u22121 under.",
        table("Differences from the training glyphs", heads, rows),
    )


def checks(found: Diagnosis) -> str:
    """What was looked for in files and sets."""
    every = [each for each in found.checks if isinstance(each, SetFinding)]
    if not every:
        return ""
    there, ruled = (
        "".join(
            f"<li><b>{esc(each.kind)}</b>: {esc(each.says)}</li>"
            for each in every
            if each.found == wanted
        )
        for wanted in (True, False)
    )
    body = f'<ul class="plain">{there}</ul>' if there else "<p>Nothing was found.</p>"
    if ruled:
        body += (
            "<details><summary>Looked for and not found</summary>"
            f'<ul class="plain soft">{ruled}</ul></details>'
        )
    hint = "Without asking the model: file, layout, labels and marks."
    return _section("checks", "What the glyphs themselves show", hint, body)


def how_made(report: DiagnosisReport) -> str:
    """What was asked, about what, and with what."""
    found = report.diagnosis
    facts = [
        ("model", found.model),
        ("glyphs", f"{found.glyphs}, {found.baseline.n:,} asked about"),
        ("floor", f"{percent(found.floor)}: from there on nothing is called wrong"),
        ("accuracy", f"95 % interval, {found.baseline.method}"),
    ]
    facts += [("command", report.run.command)] if report.run.command else []
    facts += [("versions", ", ".join(f"{a} {b}" for a, b in report.run.versions))]
    items = "".join(f"<dt>{esc(title)}</dt><dd>{esc(value)}</dd>" for title, value in facts)
    return _section("how", "How it was made", "", f'<dl class="how">{items}</dl>')


def _section(ident: str, title: str, hint: str, body: str) -> str:
    told = f'<p class="hint">{esc(hint)}</p>' if hint else ""
    return (
        f'<section id="{ident}" aria-labelledby="{ident}-h"><h2 id="{ident}-h">{esc(title)}</h2>'
        f"{told}{body}</section>"
    )
