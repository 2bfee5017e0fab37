"""From reports to a comparison, in one call."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from gen.core.errors import InkdriftError
from gen.evaluate.compare import compare
from gen.evaluate.compared import Compared
from gen.evaluate.paired import NEWCOMBE
from gen.evaluate.writers import WIDENED
from gen.report import compare_document, compare_page, compare_text
from gen.report.compare_findings import Said, findings, verdict
from gen.report.compare_keys import KEYS
from gen.report.compare_merge import merged_blends, merged_grids, merged_sweeps, named
from gen.report.compare_pictures import Pictured
from gen.report.compare_read import Scored, read_scored
from gen.report.json_text import json_text
from gen.report.object import Report
from gen.report.texts import write_texts
from gen.report.whole_page import in_a_frame
from gen.report.words import count, listed, measured, quoted

PAGE = "compare.html"
DOCUMENT = "compare.json"
_PARTS = 100  # of a report, in what is told of progress


@dataclass(frozen=True, eq=False)
class Comparison:
    """What several reports say of their models against each other.

    A notebook shows it as its page.

    Attributes
    ----------
    models
        What was compared, in the order given.
    compared
        The figures; models are named by their place in `models`.
    command
        How it was run, for the page to repeat; empty from Python.
    """

    models: tuple[Scored, ...]
    compared: Compared
    command: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """What the models are called."""
        return tuple(one.name for one in self.models)

    @cached_property
    def pictured(self) -> Pictured:
        """The pictures that the reports keep, with what every model read in them."""
        return Pictured(self.models)

    @cached_property
    def findings(self) -> tuple[Said, ...]:
        """What it shows, the most important first."""
        return findings(self.compared, self.names, self._notes())

    @property
    def verdict(self) -> str:
        """Which model is better, in one line."""
        return verdict(self.compared, self.names)

    @property
    def methods(self) -> Mapping[str, str]:
        """How the figures were come by."""
        compared = self.compared
        pairs = [p.mean for one in compared.sweeps for p in one.pairs]
        pairs += [p.mean for one in compared.blends for p in one.pairs]
        means = [mean.method for mean in pairs if mean is not None]
        drawn = ", of a blend on its first draw" if compared.blends else ""
        share = next((s for cell in compared.cells for s in cell.accuracies if s is not None), None)
        widened = WIDENED if share is not None and share.method.endswith(WIDENED) else ""
        return {
            "Accuracy": "" if share is None else f"95 % interval, {share.method}",
            "Differences": f"95 % interval, {NEWCOMBE}{widened}",
            "Tests": f"McNemar, exact, two-sided{widened}, one for each pair of models and cell"
            f"{drawn}; {count(compared.tests)} in all, corrected together by Holm",
            "Means": f"95 % interval each, {means[0]}; not corrected for their number"
            if means
            else "",
        }

    @property
    def chance_words(self) -> str:
        """What guessing would get, to hold every accuracy against."""
        counts, classes = self.compared.counts, self.models[0].answered.classes
        most = max(range(len(counts)), key=lambda at: counts[at])
        return (
            f"A blind guess gets {measured(1 / len(classes))}, always answering "
            f"{quoted(classes[most])} {measured(counts[most] / self.compared.glyphs)}."
        )

    def as_dict(self) -> dict[str, Any]:
        """The same as compare.json."""
        return compare_document.as_dict(self)

    def as_html(self) -> str:
        """The same as compare.html."""
        return compare_page.as_html(self)

    def as_text(self, *, width: int = 80, blocks: bool = True) -> str:
        """The summary for a terminal of so many columns."""
        return compare_text.as_text(self, width=width, blocks=blocks)

    def save(self, folder: Path | str) -> Mapping[str, Path]:
        """Write compare.html and compare.json into a folder, made if need be.

        Raises
        ------
        OutputError
            If they can't be written.
        """
        texts = {PAGE: self.as_html(), DOCUMENT: json_text(self.as_dict()) + "\n"}
        return write_texts(folder, texts, make=True)

    def __str__(self) -> str:
        return self.as_text()

    def _repr_html_(self) -> str:
        """The page, for a notebook."""
        return in_a_frame(self.as_html(), title="Inkdrift comparison")

    def _notes(self) -> list[str]:
        """What was left out, and what else may make figures differ."""
        notes = []
        missing = [
            (n, name) for n, name in zip(self.compared.missing, self.names, strict=True) if n
        ]
        if missing:
            told = listed([f"{count(n)} of {name}" for n, name in missing], len(missing))
            notes.append(
                f"Left out are glyphs that not every model was scored on: {told}. "
                f"{count(self.compared.glyphs)} are compared."
            )
        cells = {cell.cell for cell in self.compared.cells}
        for one in self.models:
            failed = [cell for cell in cells if cell not in one.answered.cells]
            if failed:
                cell_s = "cell" if len(failed) == 1 else "cells"
                notes.append(
                    f"{one.name} has no answers in {count(len(failed))} {cell_s} "
                    f"({listed(sorted(failed), 3)}), so it isn't compared there."
                )
        versions = sorted({one.version for one in self.models})
        if len(versions) > 1:
            notes.append(
                f"The reports were made by different versions of Inkdrift ({listed(versions)}), "
                "which may not have drawn the same pictures."
            )
        return notes


def compare_reports(
    reports: Sequence[Path | str | Report],
    *,
    command: str = "",
    progress: Callable[[int, int], None] | None = None,
) -> Comparison:
    """Hold the models of some reports against each other, glyph by glyph.

    Parameters
    ----------
    reports
        Two to eight: folders of reports, their report.json, or what `make_report`
        gives; all of one recipe on one set of glyphs.
    command
        How it was run, for the page to repeat.
    progress
        Called with parts done and parts in all; half of them is reading the reports.

    Returns
    -------
    Comparison
        `str` of it is the summary; `save` writes page and JSON.

    Raises
    ------
    InkdriftError
        If a report can't be read, or they can't be compared; what differs is named.

    Examples
    --------
    A dot and a ring, read by two models of which one goes by a single pixel.

    >>> import numpy as np
    >>> from gen import load_glyphs, make_report, parse_recipe
    >>> images = np.zeros((40, 9, 9), np.uint8)
    >>> images[:, 3:6, 3:6] = 255
    >>> images[::2, 4, 4] = 0
    >>> glyphs = load_glyphs(images, labels=[0, 1] * 20, classes=("ring", "dot"))
    >>> recipe = parse_recipe('''
    ... title = "Sagging mount"
    ... [[sweep]]
    ... perturbation = "translation"
    ... unit = "px"
    ... along = "x"
    ... levels = [0, 1, 2]
    ... ''')
    >>> def counts_ink(pictures):
    ...     return (pictures.sum(axis=(1, 2)) > 8.5).astype(int)
    >>> def sees_the_middle(pictures):
    ...     return (pictures[:, 4, 4] > 0.5).astype(int)
    >>> reports = [make_report(model, recipe, glyphs) for model in (counts_ink, sees_the_middle)]
    >>> found = compare_reports(reports)
    >>> found.findings[0].says
    'counts_ink reads better than sees_the_middle in translation along x from +1 px to +2 px.'
    """
    if isinstance(reports, (str, Path, Report)) or not 2 <= len(reports) <= len(KEYS):
        got = 1 if isinstance(reports, (str, Path, Report)) else len(reports)
        raise InkdriftError(
            "compare",
            "this many reports can't be compared",
            got=got,
            allowed=f"2 to {len(KEYS)}; more curves in one picture can't be told apart",
        )
    told = progress or (lambda done, total: None)
    read = []
    for report in reports:
        read.append(read_scored(report))
        told(_PARTS * len(read), 2 * _PARTS * len(reports))
    models = named(read)
    half = _PARTS * len(read)  # reading them is the other half
    compared = compare(
        [one.answered for one in models],
        merged_sweeps(models),
        merged_grids(models),
        merged_blends(models),
        nominal=models[0].nominal,
        names=[one.name for one in models],
        progress=lambda done, total: told(half + half * done // total, 2 * half),
    )
    return Comparison(models, compared, command)
