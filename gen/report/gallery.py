"""What is misread first: at nominal, and in each sweep where the smallest change costs any."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.results import Evaluation
from gen.report.album import Album
from gen.report.glyph_words import misread_pair
from gen.report.markup import Markup, esc
from gen.report.places import place
from gen.report.shown import Picture, Shown
from gen.report.sureness import labels_only
from gen.report.typeset import typeset


def gallery(evaluation: Evaluation, shown: Shown, album: Album) -> str:
    """Rows of glyphs; nothing where none is shown."""
    rows = []
    if shown.at_nominal:
        rows.append(_row(Markup("With nothing changed"), "", shown.at_nominal, album))
    for index, (curve, sweep) in enumerate(zip(evaluation.curves, shown.sweeps, strict=False)):
        if sweep.first_lost and sweep.first_lost_at is not None:
            title = Markup(f'<a href="#sweep-{index + 1}">{esc(curve.title)}</a>')
            where = place(curve, curve.points[sweep.first_lost_at].level)
            rows.append(_row(title, where, sweep.first_lost, album))
    if not rows:
        return ""
    surest, unknown = "; the surest first", ""
    if labels_only(evaluation):
        surest, unknown = "", " The model gives labels only, so how sure it was isn't known."
    return (
        '<section id="misread" aria-labelledby="misread-h"><h2 id="misread-h">Misread first</h2>'
        '<p class="hint">With nothing changed, and at the smallest change of each sweep that '
        f"costs any mark which nominal reads rightly{surest}. Of two pictures the left is "
        f"the mark at nominal, the right what was read.{unknown}</p>"
        f'<dl class="lost-rows">{"".join(rows)}</dl></section>'
    )


def _row(title: Markup, where: str, pictures: Sequence[Picture], album: Album) -> str:
    said = f"<small>{esc(typeset(where))}</small>" if where else ""
    inner = "".join(misread_pair(album, picture) for picture in pictures)
    return f"<div><dt>{title}{said}</dt><dd>{inner}</dd></div>"
