"""The files of a report."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from gen.evaluate.results import Evaluation
from gen.evaluate.sheet import Sheet
from gen.report import document, findings, page, table
from gen.report.answers_file import ANSWERS, write_answers
from gen.report.breaking_table import breaking_as_csv
from gen.report.kept_pictures import PICTURES, kept_of, write_pictures
from gen.report.run import RunInfo
from gen.report.shown import Shown
from gen.report.texts import write_texts

PAGE = "report.html"
DOCUMENT = "report.json"
TABLE = "curves.csv"
GRIDS = "grids.csv"
BREAKING = "breaking.csv"
FILES = (PAGE, DOCUMENT, TABLE, GRIDS, BREAKING, ANSWERS, PICTURES)
"""All that a report may consist of."""


def write_report(
    folder: Path | str,
    evaluation: Evaluation,
    *,
    run: RunInfo | None = None,
    shown: Shown | None = None,
    sheet: Sheet | None = None,
) -> Mapping[str, Path]:
    """Write report.html, report.json, curves.csv and what comparisons need, into a folder.

    The latter is answers.npz and pictures.npz. Where there are grids, grids.csv is written
    too, and breaking.csv where there are sweeps of amounts.

    Parameters
    ----------
    folder
        An existing folder. Whoever calls makes it, and gives it its final name
        once everything in it is whole.
    evaluation
        A scored model.
    run
        What was run; left out, only the versions are known.
    shown
        The pictures of the page; left out, it has none, and there is no pictures.npz.
    sheet
        What the model said to every glyph; left out, there is no breaking.csv,
        answers.npz or pictures.npz.

    Returns
    -------
    mapping of file name to path.

    Raises
    ------
    OutputError
        If the folder isn't there or can't be written to.
    """
    run = RunInfo() if run is None else run
    found = findings.find(evaluation)
    texts = {
        PAGE: page.as_html(evaluation, found, run, shown),
        DOCUMENT: document.as_text(document.as_dict(evaluation, found, run)),
        TABLE: table.as_csv(evaluation),
    }
    if evaluation.grids:
        texts[GRIDS] = table.grids_as_csv(evaluation)
    if sheet is not None and any(not isinstance(c.nominal, str) for c in evaluation.curves):
        texts[BREAKING] = breaking_as_csv(evaluation, sheet)
    paths = write_texts(folder, texts)
    digests = {
        "glyphs_digest": evaluation.glyphs_digest,
        "recipe_digest": evaluation.recipe_digest,
    }
    if sheet is not None:
        paths[ANSWERS] = write_answers(Path(folder) / ANSWERS, sheet, **digests)
        kept = kept_of(evaluation, Shown() if shown is None else shown)
        if kept:
            paths[PICTURES] = write_pictures(Path(folder) / PICTURES, kept, **digests)
    return paths
