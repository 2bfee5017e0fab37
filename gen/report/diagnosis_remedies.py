"""Each remedy on the page: what is wrong, what to change, and glyphs before and after."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnose.results import Diagnosis, Remedy
from gen.report.diagnosis_examples import Example
from gen.report.diagnosis_mended import MENDED, Mended
from gen.report.diagnosis_words import named, tried
from gen.report.markup import esc
from gen.report.pictures import data_uri
from gen.report.typeset import typeset
from gen.report.words import interval_words, p_words, points, quoted

if TYPE_CHECKING:
    from gen.report.diagnosis_make import DiagnosisReport


def in_front(report: DiagnosisReport) -> str:
    """The first example of the first remedy, beside the answer."""
    if not report.examples or not report.examples[0]:
        return ""
    one = report.examples[0][0]
    if not one.pictures_change:
        return ""
    return (
        '<div class="pair">'
        f'<div class="there"><img alt="A glyph of class {esc(one.labelled)} as it is" '
        f'src="{data_uri(one.before)}">read {_name(one.read)}</div>'
        f'<div><img alt="The same glyph after {esc(named(report.diagnosis.remedies[0]))}" '
        f'src="{data_uri(one.after)}">read {_name(one.read_after)}</div></div>'
    )


def each_remedy(report: DiagnosisReport) -> str:
    """All remedies, the one that explains first."""
    found = report.diagnosis
    if not found.remedies:
        return ""
    shown = report.examples or ((),) * len(found.remedies)
    parts = "".join(
        _remedy(number, remedy, examples)
        for number, (remedy, examples) in enumerate(zip(found.remedies, shown, strict=True), 1)
    )
    note = "" if report.mended is None else f'<p class="hint">{_to_try(report.mended)}</p>'
    return (
        '<section id="remedies" aria-labelledby="remedies-h">'
        f'<h2 id="remedies-h">Each remedy</h2>{note}{parts}</section>'
    )


def ruled_out(found: Diagnosis) -> str:
    """What was tried and gives nothing back."""
    if not found.tried:
        return ""
    items = "".join(f"<li>{_text(one)}</li>" for one in found.ruled_out)
    hint = f"{tried(found)}, chosen on some of the glyphs and judged on the others."
    if items:
        hint += " Alone, none of these gives anything back:"
    return (
        '<section id="ruled-out" aria-labelledby="ruled-h"><h2 id="ruled-h">Ruled out</h2>'
        f'<p class="hint">{_text(hint)}</p>'
        + (f'<ul class="plain out">{items}</ul>' if items else "")
        + "</section>"
    )


def _to_try(mended: Mended) -> str:
    """How to try it, options set as code and never broken."""
    told = esc(mended.says)
    for option in map(esc, (MENDED, "--glyphs", *mended.options)):
        told = told.replace(option, f'<code class="option">{option}</code>')
    return told


def _remedy(number: int, remedy: Remedy, examples: tuple[Example, ...]) -> str:
    ident = f"remedy-{number}"
    figures = f"{interval_words(remedy.accuracy)}, {points(remedy.gain)}, {p_words(remedy.p_value)}"
    equally = ""
    if remedy.equally:
        items = "".join(f"<li>{_text(one)}</li>" for one in remedy.equally)
        equally = (
            '<p class="change">To these glyphs the same is done by:</p>'
            f'<ul class="plain soft">{items}</ul>'
        )
    return (
        f'<article class="sweep" id="{ident}" aria-labelledby="{ident}-h">'
        f'<header><h3 id="{ident}-h">{_text(named(remedy))}</h3><p>{_text(figures)}</p></header>'
        f'<p class="change">{_text(remedy.wrong)}</p>'
        f'<p class="change"><b>{esc(remedy.side.capitalize())}:</b> {_text(remedy.change)}</p>'
        f"{equally}{_examples(examples)}</article>"
    )


def _examples(examples: tuple[Example, ...]) -> str:
    if not examples:
        return ""
    return f'<ul class="examples">{"".join(map(_example, examples))}</ul>'


def _example(one: Example) -> str:
    relabelled = one.labelled != one.labelled_after
    head = f"labelled {_name(one.labelled)}"
    head += f", then {_name(one.labelled_after)}" if relabelled else ""
    before = (
        f'<div><img alt="As it is" src="{data_uri(one.before)}">'
        f'<span class="wrong">read {_name(one.read)}</span></div>'
    )
    after = f'<span class="read">read {_name(one.read_after)}</span>'
    if one.pictures_change:
        after = f'<img alt="After the remedy" src="{data_uri(one.after)}">{after}'
    else:
        after = f"the picture stays as it is: {after}"
    return f'<li><h4>{head}</h4><div class="both">{before}<div>{after}</div></div></li>'


def _name(name: str) -> str:
    return esc(quoted(name))


def _text(words: str) -> str:
    return esc(typeset(words))
