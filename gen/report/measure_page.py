"""measure.html: what drawings show, in one file that fetches nothing."""

from __future__ import annotations

from gen.diagnose.measures import MEASURES, QUANTILES
from gen.report.markup import esc, table
from gen.report.measure_pictures import class_means, mean_and_spread
from gen.report.measure_set import Drawings, MeasuredSet
from gen.report.measure_words import difference_heads, difference_row, quantile_row
from gen.report.whole_page import whole_page


def as_html(drawings: Drawings) -> str:
    """The page of a measured set."""
    body = f"""<div class="answer" id="findings">
<h1>{esc(drawings.verdict)}</h1>
<div class="lead">{_found(drawings)}<figure>{mean_and_spread(drawings)}</figure></div>
</div>
{_differences(drawings)}
<section id="classes" aria-labelledby="classes-h"><h2 id="classes-h">Mean of each class</h2>
<p class="hint">Each should look like its name{_beside(drawings)}. Blurred means are usual;
two marks in one, or another mark than the name says, are not.</p>
{class_means(drawings)}
</section>
<section id="measures" aria-labelledby="measures-h"><h2 id="measures-h">Measures</h2>
{_quantiles(drawings.here, "These drawings")}
{"" if drawings.against is None else _quantiles(drawings.against, "The other set")}
</section>
<section id="ruled-out" aria-labelledby="ruled-h"><h2 id="ruled-h">Looked for and not found</h2>
{_ruled_out(drawings)}
</section>
{_how(drawings)}"""
    return whole_page(
        body,
        title=f"{drawings.verdict}: {drawings.here.name}",
        under=drawings.here.name + _against(drawings),
        skip="Go to the findings",
        sheets=("style.css", "measure.css"),
    )


def _against(drawings: Drawings) -> str:
    return "" if drawings.against is None else f" against {drawings.against.name}"


def _beside(drawings: Drawings) -> str:
    return "" if drawings.against is None else ", and like the other set's, under it"


def _found(drawings: Drawings) -> str:
    items = [
        f'<li><p class="says">{esc(_sentence(finding.says))}</p>'
        f'<p class="measured">{esc(finding.kind)}</p></li>'
        for finding in drawings.found
    ] or [
        '<li class="good"><p class="says">Every kind of fault that was looked for is ruled out '
        "below, or can't be seen in a set alone.</p></li>"
    ]
    return f'<ol class="findings">{"".join(items)}</ol>'


def _sentence(says: str) -> str:
    return f"{says[:1].upper()}{says[1:]}."


def _differences(drawings: Drawings) -> str:
    if drawings.against is None:
        return ""
    rows = [difference_row(row) for row in drawings.differences]
    heads = difference_heads("there")
    return (
        '<section id="differences" aria-labelledby="differences-h">'
        '<h2 id="differences-h">Differences</h2><p class="hint">The largest effect first. A delta '
        "of 1 says that every mark here lies over every one there, &minus;1 under. Medians stand "
        "under here and there; the difference is the median of all pairs.</p>"
        f"{table('Differences between the two sets', heads, rows)}</section>"
    )


def _quantiles(each: MeasuredSet, caption: str) -> str:
    rows = [
        [*quantile_row(each.measures, name), measure.meaning] for name, measure in MEASURES.items()
    ]
    heads = ["measure", *(f"{share} %" for share in QUANTILES), "told by", "what it is"]
    return table(f"{caption}: {each.measures.count:,} glyphs", heads, rows)


def _ruled_out(drawings: Drawings) -> str:
    items = "".join(
        f"<li><b>{esc(finding.kind)}</b>: {esc(finding.says)}</li>"
        for finding in drawings.findings
        if not finding.found
    )
    return f'<ul class="ruled">{items}</ul>'


def _how(drawings: Drawings) -> str:
    facts = [
        (title, value)
        for word, each in (("glyphs", drawings.here), ("against", drawings.against))
        if each is not None
        for title, value in (
            (word, f"{each.name}, {each.frame[0]} x {each.frame[1]} px"),
            ("digest", each.provenance.digest),
            *(("note", note) for note in each.provenance.notes),
        )
    ]
    facts += [("command", drawings.run.command)] if drawings.run.command else []
    facts += [("versions", ", ".join(f"{a} {b}" for a, b in drawings.run.versions))]
    items = "".join(f"<dt>{esc(title)}</dt><dd>{esc(value)}</dd>" for title, value in facts)
    return (
        '<section id="how" aria-labelledby="how-h"><h2 id="how-h">How it was made</h2>'
        f'<dl class="how">{items}</dl></section>'
    )
